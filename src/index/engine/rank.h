// Values of given ranks among many floats, without sorting them.
#pragma once

#include <cstddef>
#include <span>

namespace hearwood {

/// What stands at a rank, and behind it, when values are sorted from small to large.
struct RankedValue {
    float value, next;  ///< next: the value itself behind the last rank
};

/// REQUIRES: rank (from 0) < values.size(); all values >= 0 and finite.
RankedValue value_and_next_of_rank(std::span<const float> values, std::size_t rank);
float value_of_rank(std::span<const float> values, std::size_t rank);

}  // namespace hearwood
