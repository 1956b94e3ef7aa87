// Spearman's rank correlation, exact by permutation, and one that respects sampling weights.
#pragma once

#include <cstdint>
#include <map>
#include <span>
#include <utility>
#include <vector>

#include "statistics/permutation.h"

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
    explicit RankCorrelations(std::uint64_t seed, const PermutationLimits& limits = {});

    /// Pairs with NaN on either side are left out. Mean ranks for ties; two-sided p by permutation,
    /// all orders when n! is within the limit, else random ones from the seed.
    Correlation of(std::span<const double> x, std::span<const double> y);

  private:
    using Ranks = std::vector<double>;
    const std::vector<double>& null_products(const Ranks& x, const Ranks& y, bool exact);

    std::uint64_t seed_;
    PermutationLimits limits_;
    std::map<std::pair<Ranks, Ranks>, std::vector<double>> kept_;
};

/// A single one.
Correlation spearman(std::span<const double> x, std::span<const double> y, std::uint64_t seed,
                     const PermutationLimits& limits = {});

/// Mean ranks, from 1.
std::vector<double> mean_ranks(std::span<const double> values);

/// Spearman's rank correlation with weights: weighted mean ranks (weight below plus half of the
/// weight at the same value), then the weighted product-moment correlation of the ranks. With equal
/// weights it is Spearman's own. Weights positive; NaN where either side is constant or fewer than
/// 3 pairs.
double weighted_spearman(std::span<const double> x, std::span<const double> y,
                         std::span<const double> weight);

}  // namespace hearwood
