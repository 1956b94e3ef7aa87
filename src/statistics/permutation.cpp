#include "statistics/permutation.h"

#include <algorithm>
#include <limits>
#include <utility>

#include "statistics/random.h"

namespace hearwood {

namespace {

/// n choose k, or nothing beyond the limit. Each step of the product is a whole number.
std::optional<std::int64_t> binomial(int n, int k, std::int64_t limit) {
    k = std::min(k, n - k);
    std::int64_t value = 1;
    for (int i = 1; i <= k; ++i) {
        if (value > std::numeric_limits<std::int64_t>::max() / n) return std::nullopt;
        value = value * (n - k + i) / i;
        // The partial products C(n-k+i, i) grow with i, so the first beyond the limit decides.
        if (value > limit) return std::nullopt;
    }
    return value;
}

/// Steps through all arrangements of the labels within blocks, as an odometer steps through its
/// digits: a block that is back at its first arrangement moves the next one.
class Odometer {
  public:
    Odometer(const Layout& layout, std::vector<std::vector<int>> blocks)
        : blocks_(std::move(blocks)) {
        for (const std::vector<int>& members : blocks_) {
            Layout one{{}, std::vector<int>(members.size(), 0), layout.class_count, 1};
            for (const int unit : members) one.classes.push_back(layout.classes[unit]);
            labels_.emplace_back(one.classes.begin(), one.classes.end());
            // Never beyond the limit: the caller counted the product.
            periods_.push_back(
                *count_permutations(one, std::numeric_limits<std::int64_t>::max() / 2));
            steps_.push_back(0);
        }
    }

    void write(std::uint8_t* row) const {
        for (std::size_t b = 0; b < blocks_.size(); ++b)
            for (std::size_t i = 0; i < blocks_[b].size(); ++i) row[blocks_[b][i]] = labels_[b][i];
    }

    void advance() {
        for (std::size_t b = 0; b < blocks_.size(); ++b) {
            // Wraps round to the sorted arrangement after the last, so any start comes round again.
            std::next_permutation(labels_[b].begin(), labels_[b].end());
            if (++steps_[b] < periods_[b]) return;
            steps_[b] = 0;
        }
    }

  private:
    std::vector<std::vector<int>> blocks_;
    std::vector<std::vector<std::uint8_t>> labels_;
    std::vector<std::int64_t> periods_, steps_;
};

}  // namespace

std::optional<std::int64_t> count_permutations(const Layout& layout, std::int64_t limit) {
    std::int64_t total = 1;
    for (int b = 0; b < layout.block_count; ++b) {
        std::vector<int> counts(layout.class_count, 0);
        for (std::size_t i = 0; i < layout.classes.size(); ++i)
            if (layout.blocks[i] == b) ++counts[layout.classes[i]];
        int so_far = 0;
        for (const int count : counts) {
            so_far += count;
            const std::optional<std::int64_t> ways = binomial(so_far, count, limit);
            if (!ways || *ways > limit / total) return std::nullopt;
            total *= *ways;
        }
    }
    return total;
}

std::vector<std::vector<int>> units_by_block(std::span<const int> blocks, int block_count) {
    std::vector<std::vector<int>> members(block_count);
    for (std::size_t i = 0; i < blocks.size(); ++i)
        members[blocks[i]].push_back(static_cast<int>(i));
    return members;
}

void shuffle_within_blocks(std::span<std::uint8_t> labels, std::span<const std::vector<int>> blocks,
                           Random& random) {
    for (const std::vector<int>& members : blocks)
        for (std::size_t i = members.size(); i > 1; --i)
            std::swap(labels[members[i - 1]], labels[members[random.below(i)]]);
}

PermutationPlan plan_permutations(const Layout& layout, const PermutationLimits& limits) {
    const std::optional<std::int64_t> count = count_permutations(layout, limits.enumerate);
    if (count) return {true, *count};
    return {false, limits.draws + 1};
}

void for_each_permutation(
    const Layout& layout, const PermutationPlan& plan, std::uint64_t seed,
    const std::function<void(std::int64_t, std::span<const std::uint8_t>)>& use) {
    std::vector<std::uint8_t> labels(layout.classes.begin(), layout.classes.end());
    std::vector<std::vector<int>> blocks = units_by_block(layout.blocks, layout.block_count);
    if (plan.exact) {
        Odometer odometer(layout, std::move(blocks));
        for (std::int64_t r = 0; r < plan.rows; ++r, odometer.advance()) {
            odometer.write(labels.data());
            use(r, labels);
        }
        return;
    }
    // The stream's name is part of the numbers: it stays.
    Random random(seed, "relabellings");
    for (std::int64_t r = 0; r < plan.rows; ++r) {
        use(r, labels);
        shuffle_within_blocks(labels, blocks, random);
    }
}

Permutations::Permutations(const Layout& layout, std::uint64_t seed,
                           const PermutationLimits& limits)
    : units_(layout.classes.size()), plan_(plan_permutations(layout, limits)) {
    labels_.resize(static_cast<std::size_t>(plan_.rows) * units_);
    for_each_permutation(layout, plan_, seed,
                         [&](std::int64_t r, std::span<const std::uint8_t> row) {
                             std::copy(row.begin(), row.end(), labels_.data() + r * units_);
                         });
}

}  // namespace hearwood
