#include "statistics/quantile.h"

#include <catch2/catch.hpp>
#include <limits>

#include "base/missing.h"

using namespace hearwood;

TEST_CASE("the median of an even count is the mean of the middle two") {
    CHECK(median({4, 1, 3, 2}) == 2.5);
    CHECK(median({7}) == 7);
    CHECK(median({3, 1, 2}) == 2);
    CHECK(is_missing(median({})));
}

TEST_CASE("the upper median is a value that was there") {
    CHECK(upper_median<double>({4, 1, 3, 2}) == 3);
    CHECK(upper_median<int>({5, 9, 1}) == 5);
}

// numpy.quantile([4, 1, 3, 2], q) with its default rule: 1.3 at 0.1, 2.5 at 0.5, 4 at 1.
TEST_CASE("quantiles are interpolated between the order statistics") {
    CHECK(quantile({4, 1, 3, 2}, 0.1) == Approx(1.3));
    CHECK(quantile({4, 1, 3, 2}, 0.5) == 2.5);
    CHECK(quantile({4, 1, 3, 2}, 1) == 4);
    CHECK(quantile({7}, 0.1) == 7);
    CHECK(is_missing(quantile({}, 0.5)));
    const double infinity = std::numeric_limits<double>::infinity();
    CHECK(quantile({1, infinity, infinity}, 0.75) == infinity);
    CHECK(quantile({1, 2, infinity}, 0.75) == infinity);
}

TEST_CASE("the median deviation is that of the distances from the median") {
    CHECK(median_deviation({1, 2, 4, 8, 100}) == 3);  // by hand: 3, 2, 0, 4, 96
    CHECK(median_deviation({1, 2, 4, 8}) == 1.5);     // about 3: 2, 1, 1, 5
    CHECK(is_missing(median_deviation({})));
}
