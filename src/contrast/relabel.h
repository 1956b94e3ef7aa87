// Relabellings of sites within blocks: all of them up to a limit, else random ones from the seed.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <vector>

namespace hearwood {

struct RelabelLimits {
    std::int64_t enumerate = 200'000;  ///< up to so many relabellings, all are taken
    std::int64_t draws = 99'999;       ///< beyond, so many random ones
};

inline constexpr int kMostClasses = 256;  ///< a label is a byte

/// The class and block of each unit as small numbers: classes 0 .. class_count-1, blocks 0 ..
/// block_count-1. REQUIRES: class_count <= kMostClasses.
struct Layout {
    std::vector<int> classes, blocks;
    int class_count = 2, block_count = 1;
    bool operator==(const Layout&) const = default;
};

/// Number of relabellings within blocks, or nothing when it exceeds the limit.
/// Product over blocks of the multinomial coefficient of its class counts.
std::optional<std::int64_t> count_relabellings(const Layout& layout, std::int64_t limit);

/// How the relabellings of a layout are taken.
struct RelabellingPlan {
    bool exact = true;      ///< every distinct one once, the observed one first
    std::int64_t rows = 0;  ///< exact: all of them; else the observed one and `draws` random ones

    /// Enumerated relabellings, or random draws.
    std::int64_t reported() const { return exact ? rows : rows - 1; }
};
RelabellingPlan plan_relabellings(const Layout& layout, const RelabelLimits& limits = {});

/// Hands out each row of class numbers once, in order. p = share of rows that reach the observed
/// statistic: hits / R, or (1 + hits) / (1 + draws) (Phipson & Smyth 2010).
void for_each_relabelling(
    const Layout& layout, const RelabellingPlan& plan, std::uint64_t seed,
    const std::function<void(std::int64_t, std::span<const std::uint8_t>)>& use);

/// The rows of for_each_relabelling(), kept.
class Relabellings {
  public:
    Relabellings(const Layout& layout, std::uint64_t seed, const RelabelLimits& limits = {});

    bool exact() const { return plan_.exact; }
    std::int64_t rows() const { return plan_.rows; }
    std::int64_t reported() const { return plan_.reported(); }
    std::span<const std::uint8_t> row(std::int64_t r) const {
        return {labels_.data() + r * units_, units_};
    }

  private:
    std::size_t units_;
    RelabellingPlan plan_;
    std::vector<std::uint8_t> labels_;
};

/// The units of each block, for shuffling.
std::vector<std::vector<int>> units_by_block(std::span<const int> blocks, int block_count);

class Random;
/// Random relabelling in place: the labels of each block's units are shuffled (Fisher & Yates).
void shuffle_within_blocks(std::span<std::uint8_t> labels, std::span<const std::vector<int>> blocks,
                           Random& random);

}  // namespace hearwood
