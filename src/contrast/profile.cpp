#include "contrast/profile.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/missing.h"
#include "contrast/units.h"
#include "statistics/family.h"

namespace hearwood {

namespace {

/// Abs t of every row of permutations; NaN where the step is untested under the row's labels.
std::vector<double> abs_t(const PairTest& pair, const std::vector<double>& values) {
    const OutcomeT outcome(pair, values);
    std::vector<double> t(static_cast<std::size_t>(pair.rows()));
    tbb::parallel_for(std::int64_t{0}, pair.rows(), [&](std::int64_t r) { t[r] = outcome.at(r); });
    return t;
}

/// Sites of the two classes with a value at any step, as units; the value is not used.
std::vector<Unit> units_of(const ProfileInput& input) {
    std::vector<Unit> units;
    for (std::size_t s = 0; s < input.sites.size(); ++s) {
        const bool any = std::any_of(input.values[s].begin(), input.values[s].end(),
                                     [](double v) { return !is_missing(v); });
        units.push_back({input.sites[s], input.stands[s], input.blocks[s], any ? 0 : kMissing});
    }
    return units;
}

double share_at_least(const std::vector<double>& values, double bar) {
    const auto hits =
        std::count_if(values.begin(), values.end(), [&](double value) { return value >= bar; });
    return static_cast<double>(hits) / static_cast<double>(values.size());
}

}  // namespace

Profile contrast_profile(const ProfileInput& input, const ContrastPlan& plan) {
    Profile profile;
    for (const double step : input.steps) profile.steps.push_back({step});
    const std::array<std::string, 2> classes{plan.class_a, plan.class_b};
    const ReadyUnits ready = ready_units(units_of(input), classes);
    if (ready.counts[0] < 2 || ready.counts[1] < 2) return profile;

    const PairTest pair(ready.layout, plan.seed, plan.limits);
    profile.permutations = pair.reported();
    profile.exact = pair.exact();
    std::vector<double> largest(static_cast<std::size_t>(pair.rows()), 0);
    for (std::size_t k = 0; k < input.steps.size(); ++k) {
        ProfileStep& step = profile.steps[k];
        std::vector<Unit> units = ready.units;
        for (Unit& unit : units) {
            const auto place = std::find(input.sites.begin(), input.sites.end(), unit.site);
            unit.value = input.values[place - input.sites.begin()][k];
        }
        const ReadyUnits here = ready_units(units, classes);
        step.n_a = here.counts[0];
        step.n_b = here.counts[1];
        if (step.n_a < 2 || step.n_b < 2) continue;
        step.mean_a = class_mean(here, 0);
        step.mean_b = class_mean(here, 1);
        const std::vector<double> t = abs_t(pair, values_of(units));
        for (std::size_t r = 0; r < t.size(); ++r)
            if (t[r] > largest[r]) largest[r] = t[r];
        step.difference = difference_of(here);
        step.t = std::copysign(t.front(), step.difference);
        step.p = share_at_least(t, t.front() * (1 - 1e-9));
    }
    for (ProfileStep& step : profile.steps)
        if (!is_missing(step.t))
            step.p_adjusted = share_at_least(largest, std::abs(step.t) * (1 - 1e-9));
    return profile;
}

namespace {

TableOf<ProfileRow> with_results(TableOf<ProfileRow> table) {
    const auto of = [](double ProfileStep::*member) {
        return [member](const ProfileRow& row) { return row.step.*member; };
    };
    return table
        .column("n_a", "1", "sites of class A that took part",
                [](const ProfileRow& row) { return row.step.n_a; })
        .column("n_b", "1", "sites of class B that took part",
                [](const ProfileRow& row) { return row.step.n_b; })
        .column("mean_a", "", "plain mean of the sites of class A", of(&ProfileStep::mean_a))
        .column("mean_b", "", "plain mean of the sites of class B", of(&ProfileStep::mean_b))
        .column("difference", "", "A minus B, adjusted for blocks", of(&ProfileStep::difference))
        .column("t", "1", "difference over its standard error under the block model",
                of(&ProfileStep::t))
        .column("p", "1", "two-sided p of the permutation test", of(&ProfileStep::p))
        .column("p_adjusted", "1", "p adjusted for all steps of the index",
                of(&ProfileStep::p_adjusted));
}

}  // namespace

TableOf<ProfileRow> profile_table() {
    TableOf<ProfileRow> table("profile.csv", "profile of the day",
                              "A row is an index and an hour.");
    table.column("index", "", "column of the tables that is compared", &ProfileRow::index)
        .column("hour", "h", "hour of the local clock",
                [](const ProfileRow& row) { return std::lround(row.step.step); });
    return with_results(std::move(table));
}

TableOf<ProfileRow> dawn_profile_table() {
    TableOf<ProfileRow> table("dawn_profile.csv", "profile of the dawn",
                              "A row is an index and a step of five minutes from sunrise.");
    table.column("index", "", "column of the tables that is compared", &ProfileRow::index)
        .column("minutes_from_sunrise", "min",
                "start of a step of five minutes, counted from sunrise",
                [](const ProfileRow& row) { return row.step.step; });
    return with_results(std::move(table));
}

std::vector<ProfileRow> profile_rows(std::span<const NamedProfile> profiles) {
    std::vector<ProfileRow> rows;
    for (const auto& [index, profile] : profiles)
        for (const ProfileStep& step : profile.steps) rows.push_back({index, step});
    return rows;
}

}  // namespace hearwood
