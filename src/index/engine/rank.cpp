#include "index/engine/rank.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <limits>

#include "index/engine/kernels.h"
#include "platform/bits.h"

namespace hearwood {
namespace {

constexpr std::size_t kFew = kMostFew;
constexpr std::uint32_t kInfinity = 0x7f800000;

/// Values from low up to high, among them that of the rank, and how many lie below them.
struct Bracket {
    float low, high;
    std::size_t below, inside;
};

// Floats that are not negative sort like their bits, so the value's bits are found one by one from
// the top: a bit is set if no more than `rank` values are below the number with that bit set.
// Counting is a kernel of vector code, and a dozen counts are faster than any clever selection.
Bracket narrow(const Kernels& kernels, std::span<const float> values, std::size_t rank) {
    std::uint32_t found = 0, bit = 1U << 31;
    std::size_t below = 0, up_to = values.size();
    while (up_to - below > kFew && bit > 1) {
        bit >>= 1;
        const float limit = bit_cast<float>(found | bit);
        const auto count = static_cast<std::size_t>(
            kernels.count_values_below(values.data(), static_cast<int>(values.size()), limit));
        if (count <= rank) {
            found |= bit;
            below = count;
        } else {
            up_to = count;
        }
    }
    return {bit_cast<float>(found), bit_cast<float>(std::min(found + bit, kInfinity)), below,
            up_to - below};
}

float least_from(std::span<const float> values, float limit) {
    float least = std::numeric_limits<float>::infinity();
    for (const float value : values) least = std::min(least, value >= limit ? value : least);
    return least;
}

}  // namespace

RankedValue value_and_next_of_rank(std::span<const float> values, std::size_t rank) {
    const Kernels& kernels = hearwood::kernels(CpuPath::best);
    const Bracket bracket = narrow(kernels, values, rank);
    const bool last_inside = rank + 1 == bracket.below + bracket.inside;
    const auto next_outside = [&](float value) {
        return rank + 1 < values.size() ? least_from(values, bracket.high) : value;
    };
    if (bracket.inside > kFew)  // all of them one number
        return {bracket.low, last_inside ? next_outside(bracket.low) : bracket.low};
    std::array<float, kFew> few;
    few.fill(std::numeric_limits<float>::infinity());
    const int inside = kernels.values_between(values.data(), static_cast<int>(values.size()),
                                              bracket.low, bracket.high, few.data());
    RankedValue found{};
    kernels.value_of_few(few.data(), inside, static_cast<int>(rank - bracket.below), &found.value,
                         &found.next);
    if (last_inside) found.next = next_outside(found.value);
    return found;
}

float value_of_rank(std::span<const float> values, std::size_t rank) {
    return value_and_next_of_rank(values, rank).value;
}

}  // namespace hearwood
