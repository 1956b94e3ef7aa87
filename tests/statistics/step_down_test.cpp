#include "statistics/step_down.h"

#include <catch2/catch.hpp>
#include <limits>

#include "base/missing.h"
#include "statistics/family.h"
#include "statistics/random.h"

using namespace hearwood;

TEST_CASE("step-down p by hand") {
    // Observed 3, 1, 2; four permutations. The largest of all three reaches 3 twice; of outcomes 2
    // and 1 it reaches 2 three times; outcome 1 alone reaches 1 in all.
    const std::vector<double> observed{3, 1, 2};
    StepDown family(observed);
    family.add(observed);
    family.add(std::vector<double>{0, 4, 1});
    family.add(std::vector<double>{1, 1.5, 2.5});
    family.add(std::vector<double>{2, 1, 0});
    CHECK(family.adjusted() == std::vector<double>{0.5, 1, 0.75});
}

TEST_CASE("an adjusted p is never below that of a larger statistic") {
    const std::vector<double> observed{2, 1};
    StepDown family(observed);
    family.add(observed);
    family.add(std::vector<double>{5, 0});
    family.add(std::vector<double>{4, 0});
    CHECK(family.adjusted() == std::vector<double>{1, 1});
}

TEST_CASE("what is missing or has no limit is not of the family, and missing ones never reach") {
    const std::vector<double> observed{kMissing, 1, std::numeric_limits<double>::infinity()};
    StepDown family(observed);
    CHECK(family.family() == 1);
    family.add(observed);
    family.add(std::vector<double>{9, kMissing, 9});
    const std::vector<double> p = family.adjusted();
    CHECK(is_missing(p[0]));
    CHECK(p[1] == 0.5);
    CHECK(is_missing(p[2]));
}

TEST_CASE("counts of parts add up to those of the whole") {
    Random random(3);
    const std::vector<double> observed{1.5, 0.3, 2.2};
    StepDown whole(observed), one(observed), other(observed);
    for (int r = 0; r < 100; ++r) {
        std::vector<double> row;
        for (int i = 0; i < 3; ++i) row.push_back(3 * random.uniform());
        whole.add(row);
        (r % 3 ? one : other).add(row);
    }
    CHECK(StepDown::merged(one, other).adjusted() == whole.adjusted());
}

TEST_CASE("a family of one is adjusted to its own p, a constant outcome leaves the family") {
    Layout layout;
    layout.classes = {0, 0, 0, 0, 1, 1, 1, 1};
    layout.blocks.assign(8, 0);
    const PairTest test(layout, 1);
    const std::vector<double> values{3, 5, 4, 9, 1, 4.5, 2, 0};
    const std::vector<std::vector<double>> outcomes{values, std::vector<double>(8, 7.1)};
    const FamilyResult result = family_max_t(test, outcomes);
    CHECK(result.p_adjusted[0] == test.p(values));
    CHECK(is_missing(result.p_adjusted[1]));
}

TEST_CASE("a spread that is rounding is none: such an outcome leaves the family") {
    Layout layout;
    layout.classes = {0, 0, 0, 0, 1, 1, 1, 1};
    layout.blocks.assign(8, 0);
    const PairTest test(layout, 1);
    const double third = 0.3, sum = 0.1 + 0.2;  // a bit apart
    const std::vector<double> values{3, 5, 4, 9, 1, 4.5, 2, 0};
    std::vector<double> patchy{third, sum, sum, kMissing, third, sum, third, sum};
    const std::vector<std::vector<double>> outcomes{
        values, {third, sum, sum, third, third, sum, third, sum}, patchy};
    const FamilyResult result = family_max_t(test, outcomes);
    CHECK(result.p_adjusted[0] == test.p(values));
    CHECK(is_missing(result.p_adjusted[1]));
    CHECK(result.t[1] == 0);
    CHECK(is_missing(result.p_adjusted[2]));
    CHECK(result.t[2] == 0);
    CHECK(test.test(outcomes[1], 0.95).p == 1);
}

TEST_CASE("a t of 0 is reached by every 0, though rounding leaves a trace in the observed one") {
    StepDown family(std::vector<double>{3e-17});
    family.add(std::vector<double>{3e-17});
    family.add(std::vector<double>{0});
    family.add(std::vector<double>{2});
    CHECK(family.adjusted() == std::vector<double>{1});
}
