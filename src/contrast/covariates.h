// Site values against numeric columns of the sheets (covariates.csv).
#pragma once

#include <span>
#include <string>

#include "base/table.h"
#include "statistics/rank_correlation.h"

namespace hearwood {

struct CovariateRow {
    std::string index, window, column;
    Correlation correlation;
};

TableOf<CovariateRow> covariates_table();
std::string covariates_csv(std::span<const CovariateRow> rows);

}  // namespace hearwood
