// The two-class permutation test within blocks and its interval (docs/statistics.md).
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "statistics/permutation.h"

namespace hearwood {

/// Values minus their block's mean. A constant block gives exact zeros.
std::vector<double> block_residuals(std::span<const double> values, const Layout& layout);

/// Sum over blocks of nA nB / (nA + nB), for two classes. With residuals e the class effect of the
/// additive block model is T = (sum of e over A) / that sum: w_b is proportional to nA nB / (nA +
/// nB), so the weighted block differences collapse to it.
double information(const Layout& layout);

/// Every block has as many units of class 0 as of class 1.
bool balanced(const Layout& layout);

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
    /// T* of every row, the observed one first.
    std::vector<double> statistics(const std::vector<double>& values) const;

    const Layout& layout() const { return layout_; }
    bool exact() const { return exact_; }
    std::int64_t rows() const { return rows_; }
    std::int64_t reported() const { return reported_; }
    double information() const { return information_; }
    double p_min() const { return p_min_; }

  private:
    void invert(TestResult& result, const std::vector<double>& t, double level, double scale) const;

    Layout layout_;
    double information_ = 0;
    bool exact_ = true, balanced_ = false;
    std::int64_t rows_ = 0, reported_ = 0;
    double p_min_ = 1;
    std::size_t groups_ = 0;           ///< of eight units
    std::vector<std::uint8_t> masks_;  ///< rows x groups; a set bit: the row labels the unit A
    std::vector<int> moved_;           ///< a row's units labelled A that are not of A
};

/// How far abs(T*) may fall short of abs(T) and still count as reaching it: ties must not hang on
/// the last bit. 1e-9 * max(abs T, max abs(y - mean y)).
double tie_tolerance(const std::vector<double>& values, double difference);

}  // namespace hearwood
