#include "statistics/day_pitch.h"

#include <catch2/catch.hpp>

#include "base/missing.h"

using namespace hearwood;

namespace {

PairTest four_and_four() {
    Layout layout;
    layout.classes = {0, 0, 0, 0, 1, 1, 1, 1};
    layout.blocks.assign(8, 0);
    return PairTest(layout, 1);
}

/// Class A higher by `shift` than class B, which repeats the same four values.
DayPitchCell cell(int hour, double low_hz, double shift) {
    std::vector<double> values{1, 2, 3, 4.5, 1, 2, 3, 4.5};
    for (int i = 0; i < 4; ++i) values[i] += shift;
    return {hour, low_hz, low_hz + 500, values};
}

}  // namespace

TEST_CASE("midnight joins, corners and the other sign do not") {
    const PairTest test = four_and_four();
    const std::vector<DayPitchCell> cells{cell(23, 0, 6),   cell(0, 0, 6),    cell(1, 500, 6),
                                          cell(5, 0, 6),    cell(6, 0, -6),   cell(12, 0, 0.1),
                                          cell(12, 500, 6), cell(12, 1500, 6)};
    const std::vector<DayPitchResult> results = day_pitch(test, cells);
    CHECK(results[0].cluster == 1);  // two cells: the heaviest
    CHECK(results[1].cluster == 1);
    CHECK(results[2].cluster > 1);
    CHECK(results[3].cluster != results[4].cluster);
    CHECK(results[4].t < 0);
    CHECK(results[5].cluster == 0);
    CHECK(is_missing(results[5].cluster_p));
    CHECK(results[6].cluster != results[7].cluster);
    CHECK(results[0].difference == Approx(6));
    CHECK(results[0].mean_b == Approx(2.625));
}

TEST_CASE("a cell that is constant within the classes has no t and joins nothing") {
    const PairTest test = four_and_four();
    DayPitchCell apart{1, 0, 500, {2, 2, 2, 2, 1, 1, 1, 1}},
        same{2, 0, 500, std::vector<double>(8, 3)};
    const std::vector<DayPitchCell> cells{cell(0, 0, 6), apart, same};
    const std::vector<DayPitchResult> results = day_pitch(test, cells);
    CHECK(is_missing(results[1].t));
    CHECK(results[1].cluster == 0);
    CHECK(results[1].difference == 1);
    CHECK(is_missing(results[2].p_adjusted));
    CHECK(results[0].cluster == 1);
    CHECK(results[0].p_adjusted == results[0].cluster_p);
}

TEST_CASE("the threshold decides what joins") {
    const PairTest test = four_and_four();
    const std::vector<DayPitchCell> cells{cell(3, 0, 4), cell(4, 0, 2.6)};
    const double weaker = day_pitch(test, cells)[1].t;
    CHECK(day_pitch(test, cells, weaker - 0.01)[1].cluster == 1);
    CHECK(day_pitch(test, cells, weaker + 0.01)[1].cluster == 0);
}

TEST_CASE("a cell that varies by rounding alone has no t and touches no other") {
    const PairTest test = four_and_four();
    const double third = 0.3, sum = 0.1 + 0.2;  // a bit apart
    const std::vector<DayPitchCell> cells{
        cell(0, 0, 6), {1, 0, 500, {third, sum, sum, third, third, sum, third, sum}}};
    const std::vector<DayPitchResult> results = day_pitch(test, cells);
    CHECK(is_missing(results[1].t));
    CHECK(results[1].cluster == 0);
    CHECK(results[0].p_adjusted == day_pitch(test, std::span(cells).first(1))[0].p_adjusted);
}
