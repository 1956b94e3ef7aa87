#include "contrast/covariates.h"

#include <catch2/catch.hpp>

#include "base/missing.h"

using namespace hearwood;

TEST_CASE("covariates.csv has the columns of the design") {
    const std::vector<CovariateRow> rows{{"aci", "dawn", "elevation_m", {0.5, 0.25, 6, true}},
                                         {"aci", "dawn", "trail_m", {kMissing, kMissing, 3, true}}};
    CHECK(covariates_csv(rows) ==
          "index,window,column,rho,p,n\naci,dawn,elevation_m,0.5,0.25,6\naci,dawn,trail_m,,,3\n");
}
