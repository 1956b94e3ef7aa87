#include "contrast/variance.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <map>

#include "base/missing.h"
#include "cases.h"
#include "contrast/power.h"
#include "statistics/random.h"

using namespace hearwood;

namespace {

std::vector<DateValue> survey_of(int sites_per_class, int dates, double site_sd, double date_sd,
                                 std::uint64_t seed = 21) {
    Random random(seed);
    std::vector<DateValue> values;
    for (int s = 0; s < 2 * sites_per_class; ++s) {
        const double site = site_sd * random.normal();
        for (int d = 0; d < dates; ++d)
            values.push_back({"s" + std::to_string(s), s % 2 ? "poor" : "rich", "",
                              "2026-03-" + std::to_string(10 + d), 4,
                              site + date_sd * random.normal(), kMissing});
    }
    return values;
}

}  // namespace

TEST_CASE(
    "the components of a large simulated survey come back, whatever the dates do everywhere") {
    std::vector<DateValue> values = survey_of(200, 10, 2, 3);
    for (DateValue& value : values) value.mean += 100 * (value.date.back() - '0');
    const VarianceComponents components = variance_components(values, rich_and_poor());
    CHECK(components.between_sites == Approx(4).epsilon(0.2));
    CHECK(components.site_by_date == Approx(9).epsilon(0.06));
    CHECK(components.dates_per_site == Approx(10));
    CHECK(components.site_values == Approx(4.9).epsilon(0.2));
    CHECK(components.information == Approx(100));
}

namespace {

/// The contrast of the survey's sites, each with its plain mean (every site has every date here).
ContrastRow contrast_of(const std::vector<DateValue>& values) {
    std::map<std::string, Unit> units;
    std::map<std::string, double> counts;
    for (const DateValue& value : values) {
        Unit& unit =
            units.try_emplace(value.site, Unit{value.site, value.stand, "", 0}).first->second;
        unit.value += value.mean;
        ++counts[value.site];
    }
    std::vector<Unit> list;
    for (auto& [name, unit] : units) {
        unit.value /= counts[name];
        list.push_back(unit);
    }
    return contrast_units(list, rich_and_poor());
}

}  // namespace

TEST_CASE("where sites differ most, more nights bring little, and that is said") {
    const std::vector<DateValue> values = survey_of(5, 8, 3, 0.2);
    const VarianceComponents components = variance_components(values, rich_and_poor());
    const ContrastRow row = contrast_of(values);
    REQUIRE(can_advise(components, row));
    CHECK(next_season(components, row).find("bring little") != std::string::npos);
    const double now = components.width(1, 1, 0.95);
    CHECK(components.width(1, 2, 0.95) > 0.98 * now);
    CHECK(components.width(2, 1, 0.95) < 0.75 * now);
}

TEST_CASE("where nights differ most, more nights help") {
    const std::vector<DateValue> values = survey_of(200, 3, 0.01, 3);
    const VarianceComponents components = variance_components(values, rich_and_poor());
    // At most all of the variance comes from nights: 1 - 1 / sqrt 2.
    CHECK(components.width(1, 2, 0.95) < 0.8 * components.width(1, 1, 0.95));
    CHECK(components.width(1, 2, 0.95) >= 0.707 * components.width(1, 1, 0.95));
}

TEST_CASE("no advice on nights where no number of nights can help") {
    const std::vector<DateValue> values = survey_of(3, 8, 1, 2);
    const std::string words =
        next_season(variance_components(values, rich_and_poor()), contrast_of(values));
    CHECK(words.find("More nights cannot help: with 3 and 3 sites") != std::string::npos);
    CHECK(words.find("narrow") == std::string::npos);
}

TEST_CASE("no advice where the formula does not foretell the interval at hand") {
    const std::vector<DateValue> values = survey_of(5, 8, 3, 0.2);
    const VarianceComponents components = variance_components(values, rich_and_poor());
    ContrastRow row = contrast_of(values);
    const double width = components.width(1, 1, 0.95);
    for (const double ratio : {0.79, 1.26}) {
        row.ci_high = row.ci_low + width / ratio;
        CHECK_FALSE(can_advise(components, row));
        CHECK(next_season(components, row).starts_with("No advice"));
    }
    row.ci_high = row.ci_low + width / 1.2;
    CHECK(can_advise(components, row));
}

TEST_CASE("one date a site cannot tell dates from sites") {
    const std::vector<DateValue> values = survey_of(4, 1, 1, 1);
    const VarianceComponents components = variance_components(values, rich_and_poor());
    CHECK(is_missing(components.site_by_date));
    CHECK(components.between_sites > 0);
    CHECK(next_season(components, contrast_of(values)).find("cannot be told") != std::string::npos);
}

TEST_CASE("on null surveys the expected width is the exact one's, within a fifth or so") {
    int tested = 0, advised = 0;
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
        const std::vector<DateValue> values = survey_of(6, 6, 1, 2, seed);
        const VarianceComponents components = variance_components(values, rich_and_poor());
        const ContrastRow row = contrast_of(values);
        ++tested;
        const double ratio = components.width(1, 1, 0.95) / (row.ci_high - row.ci_low);
        advised += ratio >= 0.8 && ratio <= 1.25;
    }
    CHECK(advised >= 0.9 * tested);
}

TEST_CASE("the effort curve ends at the whole survey and widens with fewer dates") {
    const std::vector<DateValue> values = survey_of(5, 12, 0.1, 3);
    const std::vector<EffortPoint> curve = effort_curve(values, rich_and_poor());
    REQUIRE(curve.size() == 8);
    CHECK(curve.front().dates == 1);
    CHECK(curve.back().dates == 12);
    CHECK(curve.back().width_low == Approx(curve.back().width_high));
    CHECK(curve.front().width_median > 2 * curve.back().width_median);
    std::vector<Unit> units;
    for (int s = 0; s < 10; ++s) {
        double sum = 0;
        for (int d = 0; d < 12; ++d) sum += values[s * 12 + d].mean;
        units.push_back({values[s * 12].site, values[s * 12].stand, "", sum / 12});
    }
    const ContrastRow row = contrast_units(units, rich_and_poor());
    CHECK(curve.back().width_median == Approx(row.ci_high - row.ci_low).epsilon(1e-9));
}

TEST_CASE("power says which designs cannot show anything") {
    PowerCase power_case;
    power_case.effect_sd = 2;
    power_case.simulations = 500;
    const std::string table = power_table(power_case, power_steps(power_case, 6), 1.5);
    CHECK(table.find("no result can be significant") != std::string::npos);
    CHECK(table.find("3.00 in the index's unit") != std::string::npos);
    power_case.n_a = power_case.n_b = 3;
    CHECK(simulate_power(power_case).power == 0);
    CHECK(simulate_power(power_case).p_min == 0.1);
}

TEST_CASE("power grows with the effect and is the level without one") {
    PowerCase power_case;
    power_case.n_a = power_case.n_b = 6;
    power_case.effect_sd = 0;
    const PowerResult none = simulate_power(power_case);
    CHECK(none.power == Approx(46.0 / 924).margin(3.5 * std::sqrt(0.05 * 0.95 / 2000)));
    power_case.effect_sd = 3;
    CHECK(simulate_power(power_case).power > 0.98);
    power_case.effect_sd = 2;
    const std::vector<PowerStep> steps = power_steps(power_case, 6);
    CHECK(steps[3].result.power < 0.8);  // 5 sites a class
    CHECK(steps[4].result.power >= 0.8);
}
