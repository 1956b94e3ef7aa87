#include "contrast/covariates.h"

#include <catch2/catch.hpp>

#include "base/missing.h"

using namespace hearwood;

TEST_CASE("covariates.csv has the columns of the design") {
    const std::vector<CovariateRow> rows{{"aci", "dawn", "elevation_m", {0.5, 0.25, 6, true}},
                                         {"aci", "dawn", "trail_m", {kMissing, kMissing, 3, true}}};
    CHECK(covariates_csv(rows) ==
          "index,window,column,rho,p,n,rho_within,p_within\naci,dawn,elevation_m,0.5,0.25,6,,\n"
          "aci,dawn,trail_m,,,3,,\n");
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

TEST_CASE("coordinates and clock errors explain nothing") {
    CHECK(is_explanation("elevation_m"));
    for (const char* column : {"latitude", "longitude", "clock_error_start_s", "clock_error_end_s"})
        CHECK_FALSE(is_explanation(column));
}
