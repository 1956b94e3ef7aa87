// Orders of units within blocks, for tests that permute numbers or residuals instead of labels.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "statistics/permutation.h"

namespace hearwood {

/// All orders of the units of each block (product of n_b!) up to the limit, the observed one first;
/// else the observed one and so many random ones from the seed. Row r puts at place i the number
/// of the unit that row(r)[i] names. `alike`, where given, are numbers: units of a block with the
/// same one are not told apart, and each distinct arrangement is taken once.
class Orders {
  public:
    Orders(std::span<const int> blocks, int block_count, std::uint64_t seed,
           std::span<const double> alike = {}, const PermutationLimits& limits = {});

    bool exact() const { return exact_; }
    std::int64_t rows() const { return rows_; }
    /// Enumerated ones, or random draws.
    std::int64_t reported() const { return exact_ ? rows_ : rows_ - 1; }
    std::span<const std::uint16_t> row(std::int64_t r) const {
        return {orders_.data() + static_cast<std::size_t>(r) * units_, units_};
    }

  private:
    void enumerate(const std::vector<std::vector<int>>& members, std::span<const int> kinds);
    void draw(const std::vector<std::vector<int>>& members, std::uint64_t seed);

    std::size_t units_;
    bool exact_ = true;
    std::int64_t rows_ = 0;
    std::vector<std::uint16_t> orders_;
};

}  // namespace hearwood
