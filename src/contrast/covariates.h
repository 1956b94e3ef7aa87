// Site values against numeric columns of the sheets: Spearman's rank correlation across sites.
#pragma once

#include <cstdint>
#include <map>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "contrast/relabel.h"

namespace hearwood {

struct Correlation {
    double rho, p;      ///< NaN with fewer than 4 pairs or where either side is constant
    int n = 0;          ///< pairs with both present
    bool exact = true;  ///< all n! orders, not random draws
};

/// Correlations of many pairs of columns. What p is counted against hangs only on the ranks of both
/// sides, so columns without ties share one set of orders. Not safe from several threads.
class RankCorrelations {
  public:
    explicit RankCorrelations(std::uint64_t seed, const RelabelLimits& limits = {});

    /// Pairs with NaN on either side are left out. Mean ranks for ties; two-sided p by permutation,
    /// all orders when n! is within the limit, else random ones from the seed.
    Correlation of(std::span<const double> x, std::span<const double> y);

  private:
    using Ranks = std::vector<double>;
    const std::vector<double>& null_products(const Ranks& x, const Ranks& y, bool exact);

    std::uint64_t seed_;
    RelabelLimits limits_;
    std::map<std::pair<Ranks, Ranks>, std::vector<double>> kept_;
};

/// A single one.
Correlation spearman(std::span<const double> x, std::span<const double> y, std::uint64_t seed,
                     const RelabelLimits& limits = {});

/// Mean ranks, from 1.
std::vector<double> mean_ranks(std::span<const double> values);

struct CovariateRow {
    std::string index, window, column;
    Correlation correlation;
};

/// covariates.csv: index, window, column, rho, p, n.
std::string covariates_csv(std::span<const CovariateRow> rows);

}  // namespace hearwood
