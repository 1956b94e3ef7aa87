#include "contrast/contrast.h"

#include <algorithm>
#include <array>
#include <map>
#include <memory>
#include <utility>

#include "base/missing.h"
#include "contrast/outcomes.h"
#include "contrast/units.h"
#include "contrast/verdict.h"
#include "statistics/effect.h"
#include "statistics/pair_test.h"

namespace hearwood {

namespace {

/// Keeps the test of the last layout: most rows of a table share theirs, and relabelling is the
/// dear part.
class TestCache {
  public:
    explicit TestCache(const ContrastPlan& plan) : plan_(plan) {}

    const PairTest& of(const Layout& layout) {
        if (!kept_ || layout != kept_->layout())
            kept_ = std::make_unique<PairTest>(layout, plan_.seed, plan_.limits);
        return *kept_;
    }

  private:
    const ContrastPlan& plan_;
    std::unique_ptr<PairTest> kept_;
};

std::vector<double> values_of_class(const ReadyUnits& ready, int class_number) {
    std::vector<double> values;
    for (std::size_t i = 0; i < ready.units.size(); ++i)
        if (ready.layout.classes[i] == class_number) values.push_back(ready.units[i].value);
    return values;
}

ContrastRow contrast_pair(std::span<const Unit> units, const ContrastPlan& plan, TestCache& cache) {
    const std::array<std::string, 2> classes{plan.class_a, plan.class_b};
    const ReadyUnits ready = ready_units(units, classes);
    ContrastRow row;
    row.class_a = plan.class_a;
    row.class_b = plan.class_b;
    row.level = plan.level;
    row.confounder = plan.confounder;
    row.n_a = ready.counts[0];
    row.n_b = ready.counts[1];
    row.has_blocks = ready.has_blocks;
    row.dropped_blocks = ready.dropped_blocks;
    row.missing_sites = ready.missing_sites;
    if (row.n_a < 2 || row.n_b < 2) return row;

    const PairTest& pair = cache.of(ready.layout);
    const TestResult test = pair.test(values_of(ready.units), plan.level);
    row.mean_a = class_mean(ready, 0);
    row.mean_b = class_mean(ready, 1);
    row.difference = test.difference;
    row.ci_low = test.ci_low;
    row.ci_high = test.ci_high;
    row.p = test.p;
    row.p_min = test.p_min;
    row.relabellings = pair.reported();
    row.exact = pair.exact();
    const std::vector<double> a = values_of_class(ready, 0), b = values_of_class(ready, 1);
    row.hedges_g = hedges_g(test.difference, a, b);
    row.cliffs_delta = cliffs_delta(a, b);
    return row;
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

/// Holm over the secondary rows; the primary outcome stands alone, so its p is its adjusted p.
void adjust(std::vector<ContrastRow>& rows) {
    std::vector<double> p;
    p.reserve(rows.size());
    for (const ContrastRow& row : rows) p.push_back(row.role == Role::secondary ? row.p : kMissing);
    const std::vector<double> adjusted = holm_adjusted(p);
    for (std::size_t i = 0; i < rows.size(); ++i)
        rows[i].p_adjusted = rows[i].role == Role::secondary ? adjusted[i] : rows[i].p;
    const auto family =
        std::count_if(p.begin(), p.end(), [](double value) { return !is_missing(value); });
    for (ContrastRow& row : rows) {
        row.family = row.role == Role::secondary ? static_cast<int>(family) : 1;
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

std::vector<std::string> classes_in(std::span<const SiteValue> values) {
    std::vector<std::string> classes;
    for (const SiteValue& value : values)
        if (std::find(classes.begin(), classes.end(), value.unit.stand) == classes.end())
            classes.push_back(value.unit.stand);
    return classes;
}

ContrastRow contrast_units(std::span<const Unit> units, const ContrastPlan& plan) {
    TestCache cache(plan);
    return contrast_pair(units, plan, cache);
}

std::vector<ContrastRow> contrast_table(std::span<const SiteValue> values,
                                        const ContrastPlan& plan) {
    TestCache cache(plan);
    std::vector<ContrastRow> rows;
    for (const Outcome& outcome : outcomes_of(values)) {
        rows.push_back(contrast_pair(outcome.units, plan, cache));
        rows.back().index = outcome.index;
        rows.back().window = outcome.window;
        if (!plan.primary_index.empty() && outcome.index == plan.primary_index &&
            outcome.window == plan.primary_window)
            rows.back().role = Role::primary;
    }
    adjust(rows);
    return rows;
}

std::vector<ContrastRow> other_pairs(std::span<const SiteValue> values, const ContrastPlan& plan) {
    const std::vector<ContrastPlan> pairs = undeclared_pairs(classes_in(values), plan);
    const std::vector<Outcome> outcomes = outcomes_of(values);
    std::vector<ContrastRow> rows(outcomes.size() * pairs.size());
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        // Pair by pair, so that one keeps its relabellings over the outcomes; rows go by outcome.
        TestCache cache(pairs[i]);
        for (std::size_t o = 0; o < outcomes.size(); ++o) {
            ContrastRow& row = rows[o * pairs.size() + i];
            row = contrast_pair(outcomes[o].units, pairs[i], cache);
            row.index = outcomes[o].index;
            row.window = outcomes[o].window;
        }
    }
    adjust(rows);
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
        .column("relabellings", "1", "relabellings of the sites that were enumerated or drawn",
                [](const Row& row) {
                    return row.tested() ? std::optional(row.relabellings) : std::nullopt;
                })
        .column("p_adjusted", "1", "p adjusted for the family of tests", &Row::p_adjusted)
        .column("role", "",
                "primary: the one outcome that survey.toml declares; secondary: all the rest",
                [](const Row& row) { return row.role == Role::primary ? "primary" : "secondary"; })
        .column("verdict", "", "the result in a sentence", &Row::verdict);
}

std::string contrasts_csv(std::span<const ContrastRow> rows) {
    return csv_of(contrasts_table(), rows);
}

}  // namespace hearwood
