#include "statistics/orders.h"

#include <algorithm>
#include <map>
#include <numeric>
#include <utility>

#include "statistics/random.h"

namespace hearwood {

namespace {

/// A number for each unit, equal for units of a block that are alike; each its own without `alike`.
std::vector<int> kinds_of(std::span<const int> blocks, std::span<const double> alike) {
    std::vector<int> kinds(blocks.size());
    std::iota(kinds.begin(), kinds.end(), 0);
    std::map<std::pair<int, double>, int> seen;
    for (std::size_t i = 0; i < alike.size(); ++i)
        kinds[i] = seen.emplace(std::pair{blocks[i], alike[i]}, static_cast<int>(i)).first->second;
    return kinds;
}

/// Places of one block in an arrangement; steps to the next distinct one, round to the first.
struct Wheel {
    std::vector<int> members;
    std::vector<int> kinds;  ///< in the arrangement's order
    std::int64_t period = 0, step = 0;
};

/// Distinct arrangements of a block, or nothing beyond the limit.
std::optional<std::int64_t> arrangements(const std::vector<int>& kinds, std::int64_t limit) {
    Layout one{{}, std::vector<int>(kinds.size(), 0), 0, 1};
    std::map<int, int> numbers;
    for (const int kind : kinds)
        one.classes.push_back(
            numbers.emplace(kind, static_cast<int>(numbers.size())).first->second);
    one.class_count = static_cast<int>(numbers.size());
    return count_permutations(one, limit);
}

}  // namespace

Orders::Orders(std::span<const int> blocks, int block_count, std::uint64_t seed,
               std::span<const double> alike, const PermutationLimits& limits)
    : units_(blocks.size()) {
    const std::vector<std::vector<int>> members = units_by_block(blocks, block_count);
    const std::vector<int> kinds = kinds_of(blocks, alike);
    rows_ = 1;
    for (const std::vector<int>& block : members) {
        std::vector<int> of_block;
        for (const int unit : block) of_block.push_back(kinds[unit]);
        const auto ways = arrangements(of_block, limits.enumerate);
        exact_ = exact_ && ways && *ways <= limits.enumerate / rows_;
        if (!exact_) break;
        rows_ *= *ways;
    }
    if (!exact_) rows_ = limits.draws + 1;
    orders_.resize(static_cast<std::size_t>(rows_) * units_);
    exact_ ? enumerate(members, kinds) : draw(members, seed);
}

void Orders::enumerate(const std::vector<std::vector<int>>& members, std::span<const int> kinds) {
    std::vector<Wheel> wheels;
    for (const std::vector<int>& block : members) {
        Wheel& wheel = wheels.emplace_back();
        wheel.members = block;
        for (const int unit : block) wheel.kinds.push_back(kinds[unit]);
        // The limit was kept by the caller.
        wheel.period = *arrangements(wheel.kinds, rows_);
    }
    for (std::int64_t r = 0; r < rows_; ++r) {
        std::uint16_t* row = orders_.data() + static_cast<std::size_t>(r) * units_;
        // A kind is the number of the first unit of its kind, which stands for all of them.
        for (const Wheel& wheel : wheels)
            for (std::size_t i = 0; i < wheel.members.size(); ++i)
                row[wheel.members[i]] = static_cast<std::uint16_t>(wheel.kinds[i]);
        for (Wheel& wheel : wheels) {
            std::next_permutation(wheel.kinds.begin(), wheel.kinds.end());
            if (++wheel.step < wheel.period) break;
            wheel.step = 0;
        }
    }
}

void Orders::draw(const std::vector<std::vector<int>>& members, std::uint64_t seed) {
    std::vector<std::uint16_t> order(units_);
    std::iota(order.begin(), order.end(), std::uint16_t{0});
    Random random(seed, "orders within blocks");
    for (std::int64_t r = 0; r < rows_; ++r) {
        std::copy(order.begin(), order.end(),
                  orders_.data() + static_cast<std::size_t>(r) * units_);
        for (const std::vector<int>& block : members)
            for (std::size_t i = block.size(); i > 1; --i)
                std::swap(order[block[i - 1]], order[block[random.below(i)]]);
    }
}

}  // namespace hearwood
