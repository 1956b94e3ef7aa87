// Site values against numeric columns of the sheets (covariates.csv).
#pragma once

#include <span>
#include <string>

#include "statistics/rank_correlation.h"

namespace hearwood {

struct CovariateRow {
    std::string index, window, column;
    Correlation correlation;
};

/// covariates.csv: index, window, column, rho, p, n.
std::string covariates_csv(std::span<const CovariateRow> rows);

}  // namespace hearwood
