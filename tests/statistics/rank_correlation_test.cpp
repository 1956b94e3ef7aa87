#include "statistics/rank_correlation.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "base/missing.h"

using namespace hearwood;

TEST_CASE("tied values share their mean rank") {
    const std::vector<double> values{3, 1, 3, 2};
    CHECK(mean_ranks(values) == std::vector<double>{3.5, 1, 3.5, 2});
}

TEST_CASE("four sites in perfect order reach 2 in 24") {
    const std::vector<double> x{1, 2, 3, 4}, y{10, 20, 40, 80};
    const Correlation result = spearman(x, y, 1);
    CHECK(result.rho == Approx(1));
    CHECK(result.p == 2.0 / 24);
    CHECK(result.exact);
}

TEST_CASE("three pairs or a constant side give nothing") {
    const std::vector<double> three{1, 2, 3}, constant{5, 5, 5, 5}, four{1, 2, 3, 4};
    CHECK(is_missing(spearman(three, three, 1).rho));
    CHECK(is_missing(spearman(four, constant, 1).p));
    CHECK(spearman(four, constant, 1).n == 4);
}

TEST_CASE("nine sites are beyond enumeration and use the seed") {
    std::vector<double> x, y;
    for (int i = 0; i < 9; ++i) {
        x.push_back(i);
        y.push_back(std::sin(i * 2.0) + 0.2 * i);
    }
    const Correlation one = spearman(x, y, 1), again = spearman(x, y, 1), other = spearman(x, y, 2);
    CHECK_FALSE(one.exact);
    CHECK(one.p == again.p);
    CHECK(one.p != other.p);
    CHECK(one.p == Approx(other.p).margin(0.01));
}
