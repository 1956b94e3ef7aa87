#include "contrast/onset.h"

#include <catch2/catch.hpp>

#include "base/missing.h"

using namespace hearwood;

namespace {

/// A minute's value every five minutes from -180 to +120: a night of 10 +/- 1, a chorus of 20 from
/// `onset` on.
std::vector<TimedValue> morning(double onset) {
    std::vector<TimedValue> values;
    for (int k = 0; k < 60; ++k) {
        const double minutes = -180 + 5 * k + 2.5;
        values.push_back({minutes, minutes >= onset ? 20.0 : 10.0 + (k % 3 - 1)});
    }
    return values;
}

/// Without the recordings of [from, to).
std::vector<TimedValue> without(std::vector<TimedValue> values, double from, double to) {
    std::erase_if(values, [&](const TimedValue& timed) {
        return timed.minutes >= from && timed.minutes < to;
    });
    return values;
}

}  // namespace

TEST_CASE("the onset is the start of the first step that stays above the night") {
    const OnsetResult result = dawn_onset(morning(-40));
    // By hand: night median 10, median deviation 1, threshold 10 + 3 * 1.4826.
    CHECK(result.night_level == 10);
    CHECK(result.threshold == Approx(10 + 3 * 1.4826).epsilon(1e-12));
    CHECK(result.minutes == -40);
    CHECK(result.why.empty());
}

TEST_CASE("a lone loud step before dawn is smoothed away") {
    std::vector<TimedValue> values = morning(-20);
    values[22].value = 90;  // -70
    CHECK(dawn_onset(values).minutes == -20);
}

TEST_CASE("a burst shorter than the stay is no onset") {
    std::vector<TimedValue> values = morning(-20);
    values[22].value = values[23].value = 90;
    CHECK(dawn_onset(values).minutes == -20);
}

TEST_CASE("why there is no onset is said") {
    CHECK(dawn_onset(morning(500)).why == "never stays above the night level");
    CHECK(is_missing(dawn_onset(morning(500)).minutes));
    CHECK(dawn_onset(morning(-100)).why == "above the night level already when the search begins");
    std::vector<TimedValue> late = morning(-40);
    late.erase(late.begin(), late.begin() + 16);
    CHECK(dawn_onset(late).why == "too few recordings before dawn for a night level");
    CHECK_FALSE(dawn_onset({}).why.empty());
}

TEST_CASE("missing steps neither make nor hide an onset") {
    std::vector<TimedValue> values;
    for (const TimedValue& timed : morning(-40))
        if (static_cast<int>(timed.minutes + 180) / 5 % 2 == 0) values.push_back(timed);
    CHECK(dawn_onset(values).minutes == -40);

    // The first loud step is missing: the onset is the next one, not a step nobody recorded.
    values = without(morning(-40), -40, -35);
    CHECK(dawn_onset(values).minutes == -35);
    // The one after it is: the onset stays where it is.
    values = without(morning(-40), -35, -30);
    CHECK(dawn_onset(values).minutes == -40);
}

TEST_CASE("what rose during a gap has no onset") {
    const char* why = "no recording just before the first that stays above the night level";
    // Ten minutes are bridged, a quarter of an hour and more is not.
    CHECK(dawn_onset(without(morning(-40), -50, -40)).minutes == -40);
    CHECK(dawn_onset(without(morning(-40), -60, -40)).why == why);
    // Above it before the gap as well as after it.
    CHECK(dawn_onset(without(morning(-100), -85, -65)).why == why);
}

TEST_CASE("values fall into five-minute steps, the upper end belongs to the next") {
    const std::vector<TimedValue> values{{-5, 1}, {-0.1, 3}, {0, 7}, {4.9, 9}, {10, 100}};
    const std::vector<double> means = five_minute_means(values, -5, 10);
    REQUIRE(means.size() == 3);
    CHECK(means[0] == 2);
    CHECK(means[1] == 8);
    CHECK(is_missing(means[2]));
}
