#include "statistics/effect.h"

#include <catch2/catch.hpp>

#include "base/missing.h"

using namespace hearwood;

TEST_CASE("a spread that is rounding is none: an effect size has nothing to stand on") {
    // As the additive model leaves them where all sites of a class show the same.
    const std::vector<double> a{2.5, 2.5000000000000004, 2.4999999999999996};
    const std::vector<double> b{2, 2, 2.0000000000000004};
    CHECK(is_missing(hedges_g(0.5, a, b)));
    CHECK(is_missing(hedges_g(0.5, {2.5, 2.5}, {2, 2})));
    // By hand: deviation sqrt((0.02 + 0) / 2) = 0.1, df = 2: 0.5 / 0.1 * (1 - 3 / 7).
    CHECK(hedges_g(0.5, {2.4, 2.6}, {2, 2}) == Approx(5 * (1 - 3.0 / 7)));
}
