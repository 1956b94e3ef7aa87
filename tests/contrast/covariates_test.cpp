#include "contrast/covariates.h"

#include <catch2/catch.hpp>

#include "base/missing.h"

using namespace hearwood;

TEST_CASE("covariates.csv has the columns of the design") {
    const std::vector<CovariateRow> rows{{"aci", "dawn", "elevation_m", {0.5, 0.25, 6, true}},
                                         {"aci", "dawn", "trail_m", {kMissing, kMissing, 3, true}}};
    CHECK(covariates_csv(rows) ==
          "index,window,column,rho,p,n,rho_within,p_within,p_adjusted\naci,dawn,elevation_m,0.5,0."
          "25,6,,,\n"
          "aci,dawn,trail_m,,,3,,,\n");
}

TEST_CASE("residuals are what class and block leave over") {
    // By hand: rich and poor in two blocks, unbalanced. y = block (10, 20) + class (4, 0) exactly,
    // but for +1 and -1 at the two rich sites of the first block.
    const std::vector<double> y{15, 13, 10, kMissing, 24, 20, 20};
    const std::vector<std::string> classes{"rich", "rich", "poor", "poor", "rich", "poor", "poor"};
    const std::vector<std::string> blocks{"u", "u", "u", "u", "v", "v", "v"};
    const std::vector<double> left = residuals_of(y, classes, blocks);
    REQUIRE(left.size() == 7);
    const std::vector<double> wanted{1, -1, 0, kMissing, 0, 0, 0};
    for (std::size_t i = 0; i < left.size(); ++i) {
        INFO(i);
        if (is_missing(wanted[i]))
            CHECK(is_missing(left[i]));
        else
            CHECK(left[i] == Approx(wanted[i]).margin(1e-10));
    }
    // Three numbers and three directions leave nothing to rank.
    CHECK(residuals_of(std::vector<double>{1, 2, 3}, std::vector<std::string>{"a", "b", "a"},
                       std::vector<std::string>{"u", "u", "v"})
              .empty());
}

TEST_CASE("p over all rows is that of the largest correlation under common orders") {
    // One pair alone: 2 of the 24 orders of four reach abs rho 1, so p is near 1/12.
    const ResidualPair straight{{1, 2, 3, 4}, {1, 2, 3, 4}};
    const ResidualPair crooked{{1, 2, 3, 4}, {2, 1, 4, 3}};
    const ResidualPair none{{1, 1, 1, 1}, {1, 2, 3, 4}};
    const auto alone = adjusted_over(std::vector<ResidualPair>{straight}, 1);
    CHECK(alone[0] == Approx(1.0 / 12).margin(0.012));  // 4 standard errors of 10,000 orders
    const auto all = adjusted_over(std::vector<ResidualPair>{straight, crooked, none}, 1);
    // 4 of 24 orders put one of the two at 1.
    CHECK(all[0] == Approx(4.0 / 24).margin(0.015));
    CHECK(all[1] >= all[0]);
    CHECK(is_missing(all[2]));
    // The same pair twice costs nothing.
    const auto twice = adjusted_over(std::vector<ResidualPair>{straight, straight}, 1);
    CHECK(twice[0] == alone[0]);
    CHECK(twice[1] == alone[0]);
}

TEST_CASE("coordinates and clock errors explain nothing") {
    CHECK(is_explanation("elevation_m"));
    for (const char* column : {"latitude", "longitude", "clock_error_start_s", "clock_error_end_s"})
        CHECK_FALSE(is_explanation(column));
}
