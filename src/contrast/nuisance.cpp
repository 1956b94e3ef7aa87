#include "contrast/nuisance.h"

#include <fmt/core.h>
#include <tbb/parallel_for.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <memory>
#include <optional>

#include "base/missing.h"
#include "base/text.h"
#include "contrast/units.h"
#include "contrast/words.h"
#include "statistics/gradient.h"
#include "statistics/partial.h"

namespace hearwood {

namespace {

std::optional<double> number_of(const SiteNumbers& column, const std::string& site) {
    const auto found = column.of_site.find(site);
    if (found == column.of_site.end() || is_missing(found->second)) return std::nullopt;
    return found->second;
}

/// The pair's sites that have a value and every column; those that lack a column are named.
ReadyUnits with_columns(const Outcome& outcome, std::span<const SiteNumbers> columns,
                        const ContrastPlan& plan, std::string& remark) {
    const std::array<std::string, 2> classes{plan.class_a, plan.class_b};
    std::vector<Unit> units;
    std::vector<std::string> lacking;
    for (const Unit& unit : outcome.units) {
        const bool whole = std::all_of(columns.begin(), columns.end(), [&](const auto& column) {
            return number_of(column, unit.site).has_value();
        });
        const bool takes_part =
            std::find(classes.begin(), classes.end(), unit.stand) != classes.end() &&
            !is_missing(unit.value);
        if (whole)
            units.push_back(unit);
        else if (takes_part)
            lacking.push_back(unit.site);
    }
    std::sort(lacking.begin(), lacking.end());
    if (!lacking.empty())
        remark = fmt::format("without {}, of which a column is not known", join(lacking, ", "));
    return ready_units(units, classes);
}

std::vector<double> numbers_of(std::span<const Unit> units, const SiteNumbers& column) {
    std::vector<double> numbers;
    for (const Unit& unit : units) numbers.push_back(*number_of(column, unit.site));
    return numbers;
}

bool varies(std::span<const double> numbers, const Layout& layout) {
    const std::vector<double> e = block_residuals(numbers, layout);
    return std::any_of(e.begin(), e.end(), [](double residual) { return residual != 0; });
}

std::string names_of(std::span<const SiteNumbers> columns) {
    std::vector<std::string> names;
    for (const SiteNumbers& column : columns) names.push_back(column.name);
    return join(names, " and ");
}

/// What one set of sites shares: the orders of its residuals and the columns' part taken out.
struct AdjustedTest {
    std::unique_ptr<Orders> orders;
    std::unique_ptr<PartialTest> test;
    std::string refusal;
};

AdjustedTest prepare(const ReadyUnits& ready, std::span<const SiteNumbers> columns,
                     const ContrastPlan& plan) {
    AdjustedTest result;
    if (ready.counts[0] < 2 || ready.counts[1] < 2) {
        result.refusal = "fewer than 2 sites in a class";
        return result;
    }
    PartialDesign design{ready.layout.blocks, ready.layout.block_count, {}, {}};
    for (const SiteNumbers& column : columns) {
        design.nuisance.push_back(numbers_of(ready.units, column));
        if (varies(design.nuisance.back(), ready.layout)) continue;
        result.refusal = fmt::format("{} does not vary {}", column.name,
                                     ready.has_blocks ? "within blocks" : "between the sites");
        return result;
    }
    for (const int number : ready.layout.classes) design.tested.push_back(number == 0 ? 1 : 0);
    result.orders = std::make_unique<Orders>(design.blocks, design.block_count, plan.seed,
                                             std::span<const double>{}, plan.limits);
    result.test = std::make_unique<PartialTest>(design, *result.orders);
    if (result.test->freedom() < kLeastFreedom)
        result.refusal = fmt::format("{} residual degrees of freedom, and at least {} are needed",
                                     std::max(0, result.test->freedom()), kLeastFreedom);
    else if (result.test->inflation() > kMostInflation)
        result.refusal = fmt::format(
            "{} cannot be separated from the stand (variance inflation {})", names_of(columns),
            std::isinf(result.test->inflation()) ? "without limit"
                                                 : readable_number(result.test->inflation()));
    return result;
}

/// Hands out the places of outcomes that share their sites, several groups side by side.
template <typename Use>
void for_groups(const std::vector<std::vector<std::string>>& keys, const Use& use) {
    std::map<std::vector<std::string>, std::vector<std::size_t>> by_key;
    for (std::size_t i = 0; i < keys.size(); ++i) by_key[keys[i]].push_back(i);
    std::vector<const std::vector<std::size_t>*> groups;
    for (const auto& [key, places] : by_key) groups.push_back(&places);
    tbb::parallel_for(std::size_t{0}, groups.size(), [&](std::size_t g) { use(*groups[g]); });
}

std::vector<std::string> sites_of(std::span<const Unit> units) {
    std::vector<std::string> sites;
    for (const Unit& unit : units) sites.push_back(unit.site);
    return sites;
}

/// Sites with a value and a number, ready for the slope; classes by number.
struct GradientUnits {
    std::vector<Unit> units;  ///< sorted by site
    GradientInput input;
    std::vector<std::string> classes;  ///< in order of first appearance
};

GradientUnits gradient_units(const Outcome& outcome, const SiteNumbers& x) {
    GradientUnits result;
    for (const Unit& unit : outcome.units)
        if (!is_missing(unit.value) && number_of(x, unit.site)) result.units.push_back(unit);
    std::sort(result.units.begin(), result.units.end(),
              [](const Unit& one, const Unit& other) { return one.site < other.site; });
    std::map<std::string, int> blocks;
    for (const Unit& unit : result.units) {
        const int next = static_cast<int>(blocks.size());
        result.input.blocks.push_back(blocks.emplace(unit.block, next).first->second);
        result.input.x.push_back(*number_of(x, unit.site));
        result.input.y.push_back(unit.value);
        if (std::find(result.classes.begin(), result.classes.end(), unit.stand) ==
            result.classes.end())
            result.classes.push_back(unit.stand);
    }
    result.input.block_count = std::max(1, static_cast<int>(blocks.size()));
    return result;
}

/// What outcomes of the same sites share.
struct GradientTests {
    std::unique_ptr<Orders> of_x, of_residuals;
    std::unique_ptr<PartialTest> given_class;  ///< null where it cannot be told
};

/// Given the class: every class but the first as a column of its own.
GradientTests prepare_gradient(const GradientUnits& units, const ContrastPlan& plan) {
    const GradientInput& input = units.input;
    GradientTests tests;
    tests.of_x =
        std::make_unique<Orders>(input.blocks, input.block_count, plan.seed, input.x, plan.limits);
    PartialDesign design{input.blocks, input.block_count, {}, input.x};
    for (std::size_t c = 1; c < units.classes.size(); ++c) {
        std::vector<double>& column = design.nuisance.emplace_back();
        for (const Unit& unit : units.units) column.push_back(unit.stand == units.classes[c]);
    }
    tests.of_residuals = std::make_unique<Orders>(input.blocks, input.block_count, plan.seed,
                                                  std::span<const double>{}, plan.limits);
    tests.given_class = std::make_unique<PartialTest>(design, *tests.of_residuals);
    if (tests.given_class->freedom() < kLeastFreedom || std::isinf(tests.given_class->inflation()))
        tests.given_class.reset();
    return tests;
}

void test_gradient(GradientRow& row, const GradientInput& input, const GradientTests& tests,
                   double level) {
    const GradientResult result = gradient_test(input, level, *tests.of_x);
    row.slope = result.slope;
    row.ci_low = result.ci_low;
    row.ci_high = result.ci_high;
    row.p = result.p;
    if (!tests.given_class) return;
    const PartialResult given = tests.given_class->test(input.y, std::nullopt);
    row.slope_given_class = given.effect;
    row.p_given_class = given.p;
}

void adjust_gradient(std::vector<GradientRow>& rows, std::span<const Outcome> outcomes,
                     const SiteNumbers& x, const ContrastPlan& plan) {
    std::map<std::string, Unit> sites;
    std::vector<std::size_t> family;
    for (std::size_t i = 0; i < rows.size(); ++i) {
        rows[i].p_adjusted = rows[i].p;
        if (rows[i].role == Role::primary || is_missing(rows[i].p)) continue;
        family.push_back(i);
        for (const Unit& unit : outcomes[i].units)
            if (!is_missing(unit.value) && number_of(x, unit.site)) sites.emplace(unit.site, unit);
    }
    if (family.empty()) return;
    const Outcome together{{}, {}, [&] {
                               std::vector<Unit> units;
                               for (const auto& [name, unit] : sites) units.push_back(unit);
                               return units;
                           }()};
    const GradientUnits all = gradient_units(together, x);
    std::vector<std::vector<double>> values;
    for (const std::size_t i : family) values.push_back(values_at(all.units, outcomes[i]));
    const std::vector<double> adjusted = gradient_max_t(
        all.input.x, all.input.blocks, all.input.block_count, values, plan.seed, plan.limits);
    for (std::size_t k = 0; k < family.size(); ++k) rows[family[k]].p_adjusted = adjusted[k];
}

}  // namespace

std::vector<AdjustedRow> adjusted_table(std::span<const SiteValue> values,
                                        std::span<const SiteNumbers> columns,
                                        const ContrastPlan& plan) {
    const std::vector<Outcome> outcomes = outcomes_of(values);
    std::vector<AdjustedRow> rows(outcomes.size());
    std::vector<ReadyUnits> ready(outcomes.size());
    std::vector<std::vector<std::string>> keys;
    for (std::size_t i = 0; i < outcomes.size(); ++i) {
        rows[i].index = outcomes[i].index;
        rows[i].window = outcomes[i].window;
        ready[i] = with_columns(outcomes[i], columns, plan, rows[i].reason);
        keys.push_back(sites_of(ready[i].units));
    }
    for_groups(keys, [&](const std::vector<std::size_t>& group) {
        const AdjustedTest shared = prepare(ready[group.front()], columns, plan);
        tbb::parallel_for(std::size_t{0}, group.size(), [&](std::size_t i) {
            AdjustedRow& row = rows[group[i]];
            if (!shared.refusal.empty()) {
                row.reason = shared.refusal;
                return;
            }
            const PartialResult result =
                shared.test->test(values_of(ready[group[i]].units), plan.level);
            row.difference = result.effect;
            row.ci_low = result.ci_low;
            row.ci_high = result.ci_high;
            row.p = result.p;
        });
    });
    return rows;
}

TableOf<AdjustedRow> adjusted_table() {
    using Row = AdjustedRow;
    return TableOf<Row>("adjusted.csv", "adjusted contrasts",
                        "A row is an index and a window: the difference of the classes given the "
                        "declared columns, approximate.")
        .column("index", "", "column of the tables that is compared", &Row::index)
        .column("window", "", "named part of the day", &Row::window)
        .column("difference", "", "A minus B given block and columns", &Row::difference)
        .column("ci_low", "", "lower end of the confidence interval; -INF when unbounded",
                &Row::ci_low)
        .column("ci_high", "", "upper end of the confidence interval; INF when unbounded",
                &Row::ci_high)
        .column("p", "1", "p of Freedman and Lane's permutation of residuals, approximate", &Row::p)
        .column("reason", "", "why there are no numbers, or which sites lack a column",
                &Row::reason);
}

std::string adjusted_csv(std::span<const AdjustedRow> rows) {
    return csv_of(adjusted_table(), rows);
}

std::string adjusted_in_words(const AdjustedRow& row, std::span<const SiteNumbers> columns,
                              const ContrastPlan& plan) {
    const std::string head =
        fmt::format("{}, {}, adjusted for {}: ", row.index, row.window, names_of(columns));
    if (is_missing(row.p)) return head + "not tested, " + row.reason + ".";
    return head + fmt::format(
                      "{} minus {} is {} ({} interval {} to {}, p = {}; approximate, for its "
                      "residuals are estimated){}.",
                      plan.class_a, plan.class_b, readable_number(row.difference),
                      percent(plan.level), readable_number(row.ci_low),
                      readable_number(row.ci_high), readable_p(row.p),
                      row.reason.empty() ? "" : ", " + row.reason);
}

std::string gradient_in_words(const GradientRow& row, const SiteNumbers& x,
                              const ContrastPlan& plan) {
    const std::string head = fmt::format("{}, {}, along {}: ", row.index, row.window, x.name);
    if (is_missing(row.p)) return head + "not tested, " + row.reason + ".";
    std::string text =
        head + fmt::format("slope {} ({} interval {} to {}, p = {})", readable_number(row.slope),
                           percent(plan.level), readable_number(row.ci_low),
                           readable_number(row.ci_high), readable_p(row.p));
    if (is_missing(row.p_given_class))
        return text + "; whether it tells more than the class cannot be told with these sites.";
    return text + fmt::format("; given the class {} (p = {}, approximate){}.",
                              readable_number(row.slope_given_class), readable_p(row.p_given_class),
                              reaches(row.p_given_class, plan.level)
                                  ? ", so it tells more than the class"
                                  : ", which does not show that it tells more than the class");
}

std::vector<GradientRow> gradient_table(std::span<const SiteValue> values, const SiteNumbers& x,
                                        const ContrastPlan& plan) {
    const std::vector<Outcome> outcomes = outcomes_of(values);
    std::vector<GradientRow> rows(outcomes.size());
    std::vector<GradientUnits> units;
    std::vector<std::vector<std::string>> keys;
    for (std::size_t i = 0; i < outcomes.size(); ++i) {
        GradientRow& row = rows[i];
        row.index = outcomes[i].index;
        row.window = outcomes[i].window;
        if (!plan.primary_index.empty() && row.index == plan.primary_index &&
            row.window == plan.primary_window)
            row.role = Role::primary;
        units.push_back(gradient_units(outcomes[i], x));
        keys.push_back(sites_of(units.back().units));
        if (gradient_testable(units.back().input)) continue;
        row.reason = fmt::format(
            "a gradient needs at least {} sites with {} different values of {}, some of them "
            "within a block",
            kLeastGradientSites, kLeastGradientValues, x.name);
    }
    for_groups(keys, [&](const std::vector<std::size_t>& group) {
        if (!rows[group.front()].reason.empty()) return;
        const GradientTests tests = prepare_gradient(units[group.front()], plan);
        tbb::parallel_for(std::size_t{0}, group.size(), [&](std::size_t i) {
            test_gradient(rows[group[i]], units[group[i]].input, tests, plan.level);
        });
    });
    adjust_gradient(rows, outcomes, x, plan);
    return rows;
}

TableOf<GradientRow> gradient_table() {
    using Row = GradientRow;
    return TableOf<Row>("gradient.csv", "slopes along the gradient",
                        "A row is an index and a window: slope of the site values on the declared "
                        "column, within blocks.")
        .column("index", "", "column of the tables that is compared", &Row::index)
        .column("window", "", "named part of the day", &Row::window)
        .column("slope", "", "per unit of the column, within blocks", &Row::slope)
        .column("ci_low", "", "lower end of the confidence interval; -INF when unbounded",
                &Row::ci_low)
        .column("ci_high", "", "upper end of the confidence interval; INF when unbounded",
                &Row::ci_high)
        .column("p", "1", "two-sided p, the column permuted within blocks", &Row::p)
        .column("slope_given_class", "", "the same slope given the class", &Row::slope_given_class)
        .column("p_given_class", "1",
                "p of that, by Freedman and Lane, approximate; empty where class and block leave "
                "too little",
                &Row::p_given_class)
        .column("p_adjusted", "1",
                "p adjusted by the largest t over the secondary outcomes, step-down; the primary's "
                "is its p",
                &Row::p_adjusted);
}

std::string gradient_csv(std::span<const GradientRow> rows) {
    return csv_of(gradient_table(), rows);
}

}  // namespace hearwood
