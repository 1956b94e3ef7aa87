// Adjustment of p over a family of outcomes by the largest statistic under the same permutations,
// step-down (Westfall & Young 1993). It keeps counters only, so permutations can stream by.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace hearwood {

class StepDown {
  public:
    /// Absolute statistics as observed; NaN and inf are not of the family.
    explicit StepDown(std::span<const double> observed);

    /// Counts one permutation, the observed labels among them. Absolute statistics in the order of
    /// `observed`; NaN does not enter the maximum.
    void add(std::span<const double> statistics);
    /// Takes over what another counted for the same family.
    void merge(const StepDown& other);
    static StepDown merged(StepDown one, const StepDown& other) {
        one.merge(other);
        return one;
    }

    /// With the outcomes sorted from the largest statistic to the smallest: adjusted p(k) = max
    /// over i <= k of the share of permutations whose largest statistic over l >= i reaches the
    /// i-th (within 1e-9, relative, or 1e-12: ties count). NaN outside the family.
    std::vector<double> adjusted() const;

    std::size_t family() const { return order_.size(); }

  private:
    std::size_t outcomes_;
    std::vector<std::size_t> order_;  ///< places of the family, the largest statistic first
    std::vector<double> bars_;        ///< what reaches each of them
    std::vector<std::int64_t> hits_;
    std::int64_t rows_ = 0;
};

}  // namespace hearwood
