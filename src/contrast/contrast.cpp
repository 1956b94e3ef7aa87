#include "contrast/contrast.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <array>
#include <map>
#include <string_view>
#include <utility>

#include "base/missing.h"
#include "contrast/units.h"
#include "contrast/verdict.h"
#include "statistics/effect.h"
#include "statistics/family.h"
#include "statistics/pair_test.h"
#include "statistics/unequal.h"

namespace hearwood {

namespace {

std::vector<double> values_of_class(const ReadyUnits& ready, int class_number) {
    std::vector<double> values;
    for (std::size_t i = 0; i < ready.units.size(); ++i)
        if (ready.layout.classes[i] == class_number) values.push_back(ready.units[i].value);
    return values;
}

ContrastRow row_of(const ReadyUnits& ready, const ContrastPlan& plan) {
    ContrastRow row;
    row.class_a = plan.class_a;
    row.class_b = plan.class_b;
    row.level = plan.level;
    row.confounder = plan.confounder;
    row.n_a = ready.counts[0];
    row.n_b = ready.counts[1];
    row.has_blocks = ready.has_blocks;
    row.unequal_counts = !balanced(ready.layout);
    row.dropped_blocks = ready.dropped_blocks;
    row.missing_sites = ready.missing_sites;
    return row;
}

bool testable(const ReadyUnits& ready) {
    return ready.counts[0] >= 2 && ready.counts[1] >= 2;
}

void test_row(ContrastRow& row, const ReadyUnits& ready, const PairTest& pair) {
    const std::vector<double> values = values_of(ready.units);
    const TestResult test = pair.test(values, row.level);
    row.mean_a = class_mean(ready, 0);
    row.mean_b = class_mean(ready, 1);
    row.difference = test.difference;
    row.ci_low = test.ci_low;
    row.ci_high = test.ci_high;
    row.p = test.p;
    row.p_min = test.p_min;
    row.p_unequal = unequal_p(pair, values);
    row.spread_ratio = spread_ratio(values, ready.layout);
    row.permutations = pair.reported();
    row.exact = pair.exact();
    const std::vector<double> a = values_of_class(ready, 0), b = values_of_class(ready, 1);
    row.hedges_g = hedges_g(test.difference, a, b);
    row.cliffs_delta = cliffs_delta(a, b);
}

/// A row an outcome, without roles. Outcomes of one layout share its permutations.
std::vector<ContrastRow> test_outcomes(std::span<const Outcome> outcomes,
                                       const ContrastPlan& plan) {
    const std::array<std::string, 2> classes{plan.class_a, plan.class_b};
    std::vector<ReadyUnits> ready;
    std::vector<ContrastRow> rows;
    std::vector<std::vector<std::size_t>> of_layout;
    for (const Outcome& outcome : outcomes) {
        ready.push_back(ready_units(outcome.units, classes));
        rows.push_back(row_of(ready.back(), plan));
        rows.back().index = outcome.index;
        rows.back().window = outcome.window;
        if (!testable(ready.back())) continue;
        const auto group =
            std::find_if(of_layout.begin(), of_layout.end(), [&](const auto& places) {
                return ready[places.front()].layout == ready.back().layout;
            });
        (group == of_layout.end() ? of_layout.emplace_back() : *group).push_back(rows.size() - 1);
    }
    tbb::parallel_for(std::size_t{0}, of_layout.size(), [&](std::size_t g) {
        const PairTest pair(ready[of_layout[g].front()].layout, plan.seed, plan.limits);
        tbb::parallel_for(std::size_t{0}, of_layout[g].size(), [&](std::size_t i) {
            const std::size_t place = of_layout[g][i];
            test_row(rows[place], ready[place], pair);
        });
    });
    return rows;
}

/// Sites of the two classes with a value in any of the outcomes; the value is not used.
std::vector<Unit> sites_of(std::span<const Outcome* const> outcomes) {
    std::map<std::string, Unit> sites;
    for (const Outcome* outcome : outcomes)
        for (const Unit& unit : outcome->units)
            if (!is_missing(unit.value))
                sites.emplace(unit.site, Unit{unit.site, unit.stand, unit.block, 0});
    std::vector<Unit> list;
    list.reserve(sites.size());
    for (const auto& [name, unit] : sites) list.push_back(unit);
    return list;
}

/// Step-down max-t over the outcomes under the same permutations of whole sites.
std::vector<double> adjusted_over(std::span<const Outcome* const> outcomes,
                                  const ContrastPlan& plan) {
    const std::array<std::string, 2> classes{plan.class_a, plan.class_b};
    const ReadyUnits ready = ready_units(sites_of(outcomes), classes);
    if (!testable(ready)) return std::vector<double>(outcomes.size(), kMissing);
    std::vector<std::vector<double>> values;
    for (const Outcome* outcome : outcomes) values.push_back(values_at(ready.units, *outcome));
    return family_max_t(PairTest(ready.layout, plan.seed, plan.limits), values).p_adjusted;
}

/// The plan for every pair of classes but the declared one.
std::vector<ContrastPlan> undeclared_pairs(const std::vector<std::string>& classes,
                                           const ContrastPlan& plan) {
    std::vector<ContrastPlan> pairs;
    for (std::size_t i = 0; i < classes.size(); ++i) {
        for (std::size_t j = i + 1; j < classes.size(); ++j) {
            if (std::minmax(classes[i], classes[j]) == std::minmax(plan.class_a, plan.class_b))
                continue;
            ContrastPlan& pair = pairs.emplace_back(plan);
            pair.class_a = classes[i];
            pair.class_b = classes[j];
        }
    }
    return pairs;
}

/// Asks the primary row, or all where none is declared, what the plan says matters.
void ask_what_matters(std::span<ContrastRow> rows, std::span<const Outcome> outcomes,
                      const ContrastPlan& plan) {
    if (!plan.matters) return;
    std::vector<Outcome> asked;
    std::vector<ContrastRow*> asked_rows;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        if (!plan.primary_index.empty() && rows[i].role != Role::primary) continue;
        rows[i].matters = *plan.matters;
        asked.push_back(outcomes[i]);
        asked_rows.push_back(&rows[i]);
    }
    ContrastPlan narrow = plan;
    narrow.level = std::max(2 * plan.level - 1, 0.0);
    const std::vector<ContrastRow> others = test_outcomes(asked, narrow);
    for (std::size_t i = 0; i < others.size(); ++i)
        asked_rows[i]->narrow = {others[i].ci_low, others[i].ci_high};
}

/// The secondary rows are adjusted together; the primary outcome stands alone, so its p is its
/// adjusted p. REQUIRES: a row an outcome.
void adjust(std::span<ContrastRow> rows, std::span<const Outcome> outcomes,
            const ContrastPlan& plan) {
    std::vector<const Outcome*> family;
    std::vector<ContrastRow*> adjusted_rows;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        rows[i].p_adjusted = rows[i].p;
        if (rows[i].role != Role::secondary || !rows[i].tested()) continue;
        family.push_back(&outcomes[i]);
        adjusted_rows.push_back(&rows[i]);
    }
    const std::vector<double> adjusted = adjusted_over(family, plan);
    const auto size =
        std::count_if(adjusted.begin(), adjusted.end(), [](double p) { return !is_missing(p); });
    for (std::size_t i = 0; i < adjusted.size(); ++i) {
        adjusted_rows[i]->p_adjusted = adjusted[i];
        adjusted_rows[i]->family = static_cast<int>(size);
    }
    for (ContrastRow& row : rows) {
        if (!is_missing(row.matters))
            row.ending = ending_of({row.ci_low, row.ci_high}, row.narrow,
                                   reaches(row.deciding_p(), row.level), row.matters);
        row.verdict = verdict(row);
    }
}

}  // namespace

std::vector<Outcome> outcomes_of(std::span<const SiteValue> values) {
    std::vector<Outcome> outcomes;
    std::map<std::pair<std::string, std::string>, std::size_t> places;
    for (const SiteValue& value : values) {
        const auto [place, fresh] =
            places.emplace(std::pair{value.index, value.window}, outcomes.size());
        if (fresh) outcomes.push_back({value.index, value.window, {}});
        outcomes[place->second].units.push_back(value.unit);
    }
    return outcomes;
}

std::vector<double> values_at(std::span<const Unit> sites, const Outcome& outcome) {
    std::map<std::string_view, double> values;
    for (const Unit& unit : outcome.units) values[unit.site] = unit.value;
    std::vector<double> row;
    row.reserve(sites.size());
    for (const Unit& site : sites) {
        const auto found = values.find(site.site);
        row.push_back(found == values.end() ? kMissing : found->second);
    }
    return row;
}

std::vector<std::string> classes_in(std::span<const SiteValue> values) {
    std::vector<std::string> classes;
    for (const SiteValue& value : values)
        if (std::find(classes.begin(), classes.end(), value.unit.stand) == classes.end())
            classes.push_back(value.unit.stand);
    return classes;
}

ContrastRow contrast_units(std::span<const Unit> units, const ContrastPlan& plan) {
    const Outcome outcome{{}, {}, {units.begin(), units.end()}};
    return test_outcomes({&outcome, 1}, plan).front();
}

std::vector<ContrastRow> contrast_table(std::span<const SiteValue> values,
                                        const ContrastPlan& plan) {
    const std::vector<Outcome> outcomes = outcomes_of(values);
    std::vector<ContrastRow> rows = test_outcomes(outcomes, plan);
    for (ContrastRow& row : rows)
        if (!plan.primary_index.empty() && row.index == plan.primary_index &&
            row.window == plan.primary_window)
            row.role = Role::primary;
    ask_what_matters(rows, outcomes, plan);
    adjust(rows, outcomes, plan);
    return rows;
}

std::vector<ContrastRow> other_pairs(std::span<const SiteValue> values, const ContrastPlan& plan) {
    const std::vector<ContrastPlan> pairs = undeclared_pairs(classes_in(values), plan);
    const std::vector<Outcome> outcomes = outcomes_of(values);
    std::vector<ContrastRow> rows(outcomes.size() * pairs.size());
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        std::vector<ContrastRow> of_pair = test_outcomes(outcomes, pairs[i]);
        adjust(of_pair, outcomes, pairs[i]);
        for (std::size_t o = 0; o < outcomes.size(); ++o)
            rows[o * pairs.size() + i] = std::move(of_pair[o]);  // rows go by outcome
    }
    return rows;
}

TableOf<ContrastRow> contrasts_table(const std::string& file, const std::string& title,
                                     const std::string& description) {
    using Row = ContrastRow;
    return TableOf<Row>(file, title, description)
        .column("index", "", "column of the tables that is compared", &Row::index)
        .column("window", "", "named part of the day", &Row::window)
        .column("class_a", "", "first class; the difference is A minus B", &Row::class_a)
        .column("class_b", "", "second class", &Row::class_b)
        .column("n_a", "1", "sites of class A that took part", &Row::n_a)
        .column("n_b", "1", "sites of class B that took part", &Row::n_b)
        .column("mean_a", "", "plain mean of the sites of class A", &Row::mean_a)
        .column("mean_b", "", "plain mean of the sites of class B", &Row::mean_b)
        .column("difference", "", "A minus B, adjusted for blocks", &Row::difference)
        .column("ci_low", "", "lower end of the confidence interval; -INF when unbounded",
                &Row::ci_low)
        .column("ci_high", "", "upper end of the confidence interval; INF when unbounded",
                &Row::ci_high)
        .column("hedges_g", "1",
                "Hedges' g: difference in pooled standard deviations within classes, corrected for "
                "small samples",
                &Row::hedges_g)
        .column("cliffs_delta", "1",
                "Cliff's delta: share of pairs in which A is above B, minus the share in which it "
                "is below",
                &Row::cliffs_delta)
        .column("p", "1", "two-sided p of the permutation test", &Row::p)
        .column("p_min", "1", "least p that this design can give", &Row::p_min)
        .column("permutations", "1", "permutations of the sites that were enumerated or drawn",
                [](const Row& row) {
                    return row.tested() ? std::optional(row.permutations) : std::nullopt;
                })
        .column("p_adjusted", "1",
                "p adjusted by the largest t over the secondary outcomes, step-down; empty where "
                "class and block leave nothing over",
                &Row::p_adjusted)
        .column("p_unequal", "1",
                "p that bears unequal spread; empty with two blocks. With unequal numbers of sites "
                "the verdict goes by the larger of p and this",
                &Row::p_unequal)
        .column("spread_ratio", "1",
                "larger over smaller standard deviation of the classes, about the means of class "
                "and block",
                &Row::spread_ratio)
        .column("role", "",
                "primary: the one outcome that survey.toml declares; secondary: all the rest",
                [](const Row& row) { return row.role == Role::primary ? "primary" : "secondary"; })
        .column("verdict", "", "the result in a sentence", &Row::verdict)
        .column("ending", "",
                "beside the declared smallest difference that matters: more, smaller, some, "
                "undecided; missing where none is declared",
                [](const Row& row) {
                    return row.ending ? std::string(name_of(*row.ending)) : std::string();
                });
}

std::string contrasts_csv(std::span<const ContrastRow> rows) {
    return csv_of(contrasts_table(), rows);
}

}  // namespace hearwood
