// The two-class permutation test within blocks and its interval (docs/statistics.md).
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "statistics/permutation.h"

namespace hearwood {

/// A spread below this share of the largest absolute value is what rounding leaves of none: site
/// values that come out of a model are equal to some last digits only.
inline constexpr double kRounding = 1e-12;

/// Values minus their block's mean. A constant block gives exact zeros, and so do all blocks where
/// every residual is rounding.
std::vector<double> block_residuals(std::span<const double> values, const Layout& layout);

/// Sum over blocks of nA nB / (nA + nB), for two classes. With residuals e the class effect of the
/// additive block model is T = (sum of e over A) / that sum: w_b is proportional to nA nB / (nA +
/// nB), so the weighted block differences collapse to it.
double information(const Layout& layout);

/// Every block has as many units of class 0 as of class 1.
bool balanced(const Layout& layout);

/// Sums of every subset of eight numbers, so that a sum over the units labelled A takes one look-up
/// a group of eight.
using SubsetSums = std::array<double, 256>;
std::vector<SubsetSums> subset_sums(const std::vector<double>& numbers);

/// How far abs(T*) may fall short of abs(T) and still count as reaching it, since ties must not
/// hang on rounding: 8 n eps (sum of abs y) / information.
double tie_tolerance(std::span<const double> values, double information);

/// Share of statistics, the observed one first, that reach it in absolute value.
double share_reaching(const std::vector<double>& t, double tolerance);

/// 1 - c and 1 + c of a permutation, c its statistic of what the shift multiplies. Exactly 0 where
/// the permutation counts whatever the shift.
struct ShiftShare {
    double down, up;
};
struct ShiftInterval {
    double low, high;
};
/// The shifts d that keep the share of permutations with abs(t_r - c_r d) >= abs(t_0 - d) above
/// 1 - level, ends included.
ShiftInterval invert_shift(const std::vector<double>& t, const std::vector<ShiftShare>& shares,
                           double level, double tolerance);

struct TestResult {
    double difference = 0;  ///< T
    double p = 1, p_min = 1;
    double ci_low = 0, ci_high = 0;
};

/// The test of one layout, ready for any number of value sets. Values come in the layout's order.
class PairTest {
  public:
    PairTest(Layout layout, std::uint64_t seed, const PermutationLimits& limits = {});

    /// Two-sided p of T and the interval of the shift at `level`.
    TestResult test(const std::vector<double>& values, double level) const;
    /// p alone, without the interval: for simulations.
    double p(const std::vector<double>& values) const;
    /// T of the observed labels.
    double difference(const std::vector<double>& values) const;
    /// T* of every row, the observed one first.
    std::vector<double> statistics(const std::vector<double>& values) const;

    const Layout& layout() const { return layout_; }
    bool exact() const { return exact_; }
    std::int64_t rows() const { return rows_; }
    std::int64_t reported() const { return reported_; }
    double information() const { return information_; }
    double p_min() const { return p_min_; }

    /// Row r labels the unit A.
    bool in_a(std::int64_t row, std::size_t unit) const {
        return masks_[static_cast<std::size_t>(row) * groups_ + unit / 8] >> (unit % 8) & 1;
    }
    /// Sum of the numbers over the units that row r labels A.
    double sum_over_a(std::int64_t row, std::span<const SubsetSums> sums) const {
        double sum = 0;
        const std::uint8_t* mask = masks_.data() + static_cast<std::size_t>(row) * groups_;
        for (const SubsetSums& group : sums) sum += group[*mask++];
        return sum;
    }

  private:
    std::vector<ShiftShare> shift_shares() const;

    Layout layout_;
    double information_ = 0;
    bool exact_ = true, balanced_ = false;
    std::int64_t rows_ = 0, reported_ = 0;
    double p_min_ = 1;
    std::size_t groups_ = 0;           ///< of eight units
    std::vector<std::uint8_t> masks_;  ///< rows x groups; a set bit: the row labels the unit A
    std::vector<int> moved_;           ///< a row's units labelled A that are not of A
};

}  // namespace hearwood
