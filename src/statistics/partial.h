// The effect of one variable given others: Freedman & Lane's (1983) permutation of residuals within
// blocks, with the studentised partial t (Anderson & Robinson 2001; Winkler et al. 2014). The test
// is approximate: its residuals are estimated.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "statistics/orders.h"

namespace hearwood {

/// Numbers of the units, all present.
struct PartialDesign {
    std::vector<int> blocks;  ///< 0 .. block_count - 1
    int block_count = 1;
    std::vector<std::vector<double>> nuisance;  ///< columns that are given, a value a unit each
    std::vector<double> tested;                 ///< the variable whose effect is asked
};

struct PartialResult {
    double effect = 0;  ///< coefficient of the tested variable in the full model
    double t = 0;       ///< inf where nothing is left over
    double p = 1;
    double ci_low = 0, ci_high = 0;  ///< hull of the values that keep p > 1 - level
};

class PartialTest {
  public:
    /// `orders` are those of the design's blocks and must outlive this.
    PartialTest(const PartialDesign& design, const Orders& orders);

    /// Residual degrees of freedom of the full model: units - blocks - rank of the nuisance - 1.
    int freedom() const { return freedom_; }
    /// Variance inflation of the tested variable by the nuisance, within blocks; inf where it is
    /// a sum of them.
    double inflation() const { return inflation_; }
    /// Values in the order of the design; without a level no interval is sought, and its ends are
    /// the effect. REQUIRES: freedom() > 0 and a finite inflation().
    PartialResult test(std::span<const double> values, std::optional<double> level) const;

  private:
    struct Residuals;
    struct Products;
    Residuals residuals(std::span<const double> values) const;
    Products products(std::int64_t row, const Residuals& of, std::vector<double>& permuted) const;
    double t(double product, double squares, double scale) const;
    void permute_tested();
    const double* tested_row(std::int64_t row) const {
        return of_tested_.data() + static_cast<std::size_t>(row) * (2 + basis_.size());
    }
    void remove_nuisance(std::vector<double>& values) const;

    Layout blocks_;
    const Orders& orders_;
    std::vector<std::vector<double>> basis_;  ///< of the nuisance within blocks, orthonormal
    std::vector<double> tested_;              ///< what the nuisance leaves of the tested variable
    double squares_ = 0;                      ///< its sum of squares
    double inflation_ = 0;
    int freedom_ = 0;
    std::vector<double>
        of_tested_;  ///< a row of orders: b'Pb, |R P b|^2, its share of each direction
};

}  // namespace hearwood
