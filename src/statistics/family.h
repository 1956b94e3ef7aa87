// The t of two classes for outcomes that share their sites, under the same permutations of whole
// sites, and its step-down adjustment.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "statistics/pair_test.h"

namespace hearwood {

/// t = T / (s / sqrt(information)), s the residual deviation of the additive block model with
/// `df` degrees of freedom, from the sum of squares within blocks. 0 where nothing varies, infinite
/// where nothing is left over: sums of squares below 1e-14 of what they were subtracted from are
/// rounding.
double t_statistic(double difference, double information, double within_blocks, double df);

/// Abs t of one outcome under the rows of a test's permutations. A site without a value (NaN) is
/// left out of it under every permutation, and so is a block that then has one class.
class OutcomeT {
  public:
    /// Values in the order of the test's layout. The test must outlive this.
    OutcomeT(const PairTest& test, const std::vector<double>& values);

    /// NaN where fewer than 2 sites of a class are left under the row's labels. Safe from several
    /// threads.
    double at(std::int64_t row) const;
    /// T of the row, NaN as above.
    double difference(std::int64_t row) const;
    /// Something varies within blocks.
    bool varies() const;

  private:
    struct Sums {
        double difference = 0, information = 0, within = 0, df = 0, size = 0;
    };
    std::optional<Sums> patchy(std::int64_t row) const;
    bool varies(const Sums& sums) const;

    const PairTest& test_;
    bool whole_;
    std::vector<SubsetSums> sums_;      ///< whole: of the residuals within blocks
    double within_ = 0;                 ///< whole: their sum of squares
    std::vector<std::size_t> present_;  ///< else: places with a value, block by block
    std::vector<double> centred_;       ///< their values minus the first
    std::vector<std::size_t> ends_;     ///< where each block's places end
    double rounding_ = 0;  ///< what their squares within blocks can be by rounding alone
};

struct FamilyResult {
    std::vector<double> t;           ///< observed, with the sign of T; NaN: not tested
    std::vector<double> p_adjusted;  ///< step-down max-t; NaN also where s is 0
};

/// Step-down max-t over outcomes (values of all sites each, NaN where a site lacks it) under the
/// permutations of `test`. Uses all cores; the result does not depend on how many.
FamilyResult family_max_t(const PairTest& test, std::span<const std::vector<double>> outcomes);

}  // namespace hearwood
