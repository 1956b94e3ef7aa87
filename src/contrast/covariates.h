// Site values against numeric columns of the sheets (covariates.csv).
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "base/missing.h"
#include "base/table.h"
#include "statistics/rank_correlation.h"

namespace hearwood {

struct CovariateRow {
    std::string index, window, column;
    Correlation correlation;
    /// Of the residuals of both from the additive model of class and block: what the column tells
    /// beyond what goes along with the class.
    Correlation within{kMissing, kMissing, 0, true};
    double p_adjusted = kMissing;  ///< of `within`, over all rows
};

/// Values minus their additive least-squares fit of class and block; NaN stays NaN and takes no
/// part. Empty where no more is left over than one degree of freedom. Parallel lists.
std::vector<double> residuals_of(std::span<const double> values,
                                 std::span<const std::string> classes,
                                 std::span<const std::string> blocks);

/// Residuals of a row's two sides, a value a site (NaN: takes no part).
struct ResidualPair {
    std::vector<double> value, column;
};

/// Of Spearman's rho of each pair the p adjusted for all of them: step-down, by the largest abs rho
/// under kCommonOrders random orders of the sites (the observed one among those counted), which are
/// common to all pairs; a pair takes the order of its own sites out of it. NaN where a pair has no
/// rho. Pairs are of the same sites.
std::vector<double> adjusted_over(std::span<const ResidualPair> pairs, std::uint64_t seed);
inline constexpr int kCommonOrders = 9'999;

/// Whether a column of the sheets can explain anything by itself: coordinates and what was read off
/// the clocks cannot.
bool is_explanation(const std::string& column);

TableOf<CovariateRow> covariates_table();
std::string covariates_csv(std::span<const CovariateRow> rows);

}  // namespace hearwood
