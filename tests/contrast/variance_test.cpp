#include "contrast/variance.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "base/missing.h"
#include "cases.h"
#include "contrast/power.h"
#include "statistics/random.h"

using namespace hearwood;

namespace {

std::vector<DateValue> survey_of(int sites_per_class, int dates, double site_sd, double date_sd) {
    Random random(21);
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

TEST_CASE("the components of a large simulated survey come back") {
    const VarianceComponents components =
        variance_components(survey_of(200, 10, 2, 3), rich_and_poor());
    CHECK(components.between_sites == Approx(4).epsilon(0.2));
    CHECK(components.between_dates == Approx(9).epsilon(0.06));
    CHECK(components.dates_per_site == Approx(10));
    CHECK(components.of_site_value(10, 4) == Approx(4.9).epsilon(0.2));
}

TEST_CASE("where sites differ most, more nights bring little, and that is said") {
    const VarianceComponents components =
        variance_components(survey_of(5, 8, 3, 0.2), rich_and_poor());
    CHECK(next_season(components, 0.95).find("bring little") != std::string::npos);
    const double now = expected_width(components, 5, 8, 0.95);
    CHECK(expected_width(components, 5, 16, 0.95) > 0.98 * now);
    CHECK(expected_width(components, 10, 8, 0.95) < 0.75 * now);
}

TEST_CASE("where nights differ most, more nights help") {
    VarianceComponents components;
    components.between_sites = 0;
    components.between_dates = 4;
    components.sites_a = components.sites_b = 4;
    components.dates_per_site = 2;
    components.segments_per_date = 10;
    CHECK(next_season(components, 0.95).find("about 29 %") != std::string::npos);  // 1 - 1/sqrt 2
}

TEST_CASE("one date a site cannot tell dates from sites") {
    const VarianceComponents components =
        variance_components(survey_of(4, 1, 1, 1), rich_and_poor());
    CHECK(is_missing(components.between_dates));
    CHECK(components.between_sites > 0);
    CHECK(next_season(components, 0.95).find("cannot be told") != std::string::npos);
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
