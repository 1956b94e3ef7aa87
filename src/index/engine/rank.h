// The value of a given rank among many floats, without sorting them.
#pragma once

#include <cstddef>
#include <span>

namespace hearwood {

/// The element that would stand at `rank` (from 0) if the values were sorted from small to large.
/// REQUIRES: rank < values.size(); all values >= 0 and finite.
float value_of_rank(std::span<const float> values, std::size_t rank);

}  // namespace hearwood
