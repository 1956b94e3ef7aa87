// Permutations of sites within blocks: all of them up to a limit, else random ones from the seed.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <vector>

namespace hearwood {

struct PermutationLimits {
    std::int64_t enumerate = 200'000;  ///< up to so many permutations, all are taken
    std::int64_t draws = 99'999;       ///< beyond, so many random ones
};

/// p <= 1 - level, whatever the last bit of 1 - level.
inline bool reaches(double p, double level) {
    return p <= 1 - level + 1e-12;
}

inline constexpr int kMostClasses = 256;  ///< a label is a byte

/// The class and block of each unit as small numbers: classes 0 .. class_count-1, blocks 0 ..
/// block_count-1. REQUIRES: class_count <= kMostClasses.
struct Layout {
    std::vector<int> classes, blocks;
    int class_count = 2, block_count = 1;
    bool operator==(const Layout&) const = default;
};

/// Number of permutations within blocks, or nothing when it exceeds the limit.
/// Product over blocks of the multinomial coefficient of its class counts.
std::optional<std::int64_t> count_permutations(const Layout& layout, std::int64_t limit);

/// How the permutations of a layout are taken.
struct PermutationPlan {
    bool exact = true;      ///< every distinct one once, the observed one first
    std::int64_t rows = 0;  ///< exact: all of them; else the observed one and `draws` random ones

    /// Enumerated permutations, or random draws.
    std::int64_t reported() const { return exact ? rows : rows - 1; }
};
PermutationPlan plan_permutations(const Layout& layout, const PermutationLimits& limits = {});

/// Hands out each row of class numbers once, in order. p = share of rows that reach the observed
/// statistic: hits / R, or (1 + hits) / (1 + draws) (Phipson & Smyth 2010).
void for_each_permutation(
    const Layout& layout, const PermutationPlan& plan, std::uint64_t seed,
    const std::function<void(std::int64_t, std::span<const std::uint8_t>)>& use);

/// The rows of for_each_permutation(), kept.
class Permutations {
  public:
    Permutations(const Layout& layout, std::uint64_t seed, const PermutationLimits& limits = {});

    bool exact() const { return plan_.exact; }
    std::int64_t rows() const { return plan_.rows; }
    std::int64_t reported() const { return plan_.reported(); }
    std::span<const std::uint8_t> row(std::int64_t r) const {
        return {labels_.data() + r * units_, units_};
    }

  private:
    std::size_t units_;
    PermutationPlan plan_;
    std::vector<std::uint8_t> labels_;
};

/// The units of each block, for shuffling.
std::vector<std::vector<int>> units_by_block(std::span<const int> blocks, int block_count);

class Random;
/// Random permutation in place: the labels of each block's units are shuffled (Fisher & Yates).
void shuffle_within_blocks(std::span<std::uint8_t> labels, std::span<const std::vector<int>> blocks,
                           Random& random);

}  // namespace hearwood
