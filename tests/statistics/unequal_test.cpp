#include "statistics/unequal.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "base/missing.h"

using namespace hearwood;

namespace {

/// Counts of both classes, block by block.
Layout layout_with(const std::vector<int>& a, const std::vector<int>& b) {
    Layout layout;
    layout.block_count = static_cast<int>(a.size());
    for (int block = 0; block < layout.block_count; ++block) {
        layout.classes.insert(layout.classes.end(), a[block], 0);
        layout.classes.insert(layout.classes.end(), b[block], 1);
        layout.blocks.insert(layout.blocks.end(), a[block] + b[block], block);
    }
    return layout;
}

}  // namespace

TEST_CASE("without blocks the second p is Welch's") {
    // Student's sleep data (1908), as R 4.2 gives them: t.test(extra ~ group, sleep), p = 0.07939.
    const std::vector<double> sleep{0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0,
                                    1.9, 0.8,  1.1,  0.1,  -0.1, 4.4, 5.5, 1.6, 4.6, 3.4};
    const PairTest test(layout_with({10}, {10}), 1);
    CHECK(unequal_p(test, sleep) == Approx(0.07939414018735815).epsilon(1e-12));
}

TEST_CASE("with two blocks, or where nothing varies, there is no second p") {
    const PairTest two(layout_with({2, 1}, {2, 2}), 1);
    CHECK(is_missing(unequal_p(two, {1, 2, 3, 4, 5, 6, 9})));
    const PairTest one(layout_with({2}, {3}), 1);
    CHECK(is_missing(unequal_p(one, {4, 4, 4, 4, 4})));
    const PairTest three(layout_with({1, 1, 1}, {1, 1, 1}), 1);
    CHECK(is_missing(unequal_p(three, {4, 4, 5, 5, 6, 6})));
}

TEST_CASE("three pairs that differ alike are as far out as pairs can be") {
    // d = 2, 2, 2: no spread between blocks, so only the permutations that keep or exchange all
    // labels reach it: 2 of 8.
    const PairTest test(layout_with({1, 1, 1}, {1, 1, 1}), 1);
    CHECK(unequal_p(test, {3, 1, 10.3, 8.3, 100.1, 98.1}) == 0.25);
}

TEST_CASE("the spread ratio is about the means of class and block") {
    // A: 1, 3 (mean 2) in one block and 11, 15 in the other: squares 2 + 8, 2 degrees of freedom.
    // B: 0, 2 and 5, 5: squares 2, 2 degrees of freedom.
    const Layout layout = layout_with({2, 2}, {2, 2});
    const std::vector<double> values{1, 3, 0, 2, 11, 15, 5, 5};
    CHECK(spread_ratio(values, layout) == Approx(std::sqrt(5)).epsilon(1e-14));
    CHECK(is_missing(spread_ratio(std::vector<double>{1, 2, 3, 4}, layout_with({1, 1}, {1, 1}))));
    CHECK(spread_ratio(std::vector<double>{1, 1, 3, 4}, layout_with({2}, {2})) ==
          std::numeric_limits<double>::infinity());
}

TEST_CASE("a value far above the others does not blur the rest") {
    // 252 permutations, of which only the observed labels and their exchange reach T: the site of
    // 1e9 must not hide that the other four lie above all five of the other class.
    const PairTest test(layout_with({5}, {5}), 1);
    const TestResult result =
        test.test({1e9, .11, .23, .37, .41, -.13, -.29, -.31, -.47, -.53}, 0.95);
    CHECK(result.p == 2.0 / 252);
    CHECK(result.ci_low > 0);
}

TEST_CASE("p above 1 - level and an interval around 0 are one thing") {
    // Ties at 0 by values that no binary fraction holds.
    for (int shift = 0; shift < 8; ++shift) {
        std::vector<double> values;
        for (const int tenth : {3, 1, 2, 7, 1, 2, 3, 0})
            values.push_back(0.1 * tenth + 0.1 * shift);
        const PairTest test(layout_with({4}, {4}), 1);
        for (const double level : {0.5, 0.7, 0.8, 0.9, 0.95}) {
            const TestResult result = test.test(values, level);
            const bool holds_0 = result.ci_low <= 0 && result.ci_high >= 0;
            CHECK(holds_0 == !reaches(result.p, level));
        }
    }
}

TEST_CASE("a large common part of the values costs the second p no digits") {
    // Multiples of 1/64, so that adding 1e9 rounds nothing.
    const std::vector<double> values{0.5, 1.25, 2.125, 0.75, 3.5, 1.0625, 2.25, 4, 0.25};
    std::vector<double> shifted = values;
    for (double& value : shifted) value += 1e9;
    const PairTest welch(layout_with({4}, {5}), 1);
    CHECK(unequal_p(welch, shifted) == Approx(unequal_p(welch, values)).epsilon(1e-12));
    const PairTest blocks(layout_with({1, 2, 1}, {2, 1, 2}), 1);
    CHECK(unequal_p(blocks, shifted) == unequal_p(blocks, values));
}

TEST_CASE("a spread that is rounding is none") {
    const double third = 0.3, sum = 0.1 + 0.2;  // a bit apart
    const Layout one = layout_with({3}, {3});
    CHECK(is_missing(unequal_p(PairTest(one, 1), {third, sum, sum, third, sum, third})));
    CHECK(is_missing(spread_ratio(std::vector<double>{third, sum, sum, third, sum, third}, one)));
    CHECK(spread_ratio(std::vector<double>{third, sum, sum, 1, 2, 3}, one) ==
          std::numeric_limits<double>::infinity());
}
