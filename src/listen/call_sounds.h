// Sounds of single calls for planting: synthetic ones, or files of the user's.
#pragma once

#include <string>
#include <vector>

#include "statistics/random.h"

namespace hearwood {

/// A call at root mean square 1, without silence around it.
using Call = std::vector<float>;

/// A rising whistle, a trill, a buzz: the kinds of sound that birds, frogs and insects make, and
/// none's in particular.
std::vector<Call> synthetic_calls(double sample_rate, Random& random);

/// Every file of the folder that opens as sound, by name: first channel, at most 3 s, resampled.
/// Those that do not are told in `missing`.
std::vector<Call> calls_in(const std::string& folder, double sample_rate,
                           std::vector<std::string>& missing);

}  // namespace hearwood
