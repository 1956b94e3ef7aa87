// Samples at another rate.
#pragma once

#include <span>
#include <vector>

namespace hearwood {

/// Windowed-sinc interpolation (Hann, 16 zero crossings to each side), with the band limited to the
/// lower of the two rates. Gives samples.size() * to_rate / from_rate samples, rounded down; beyond
/// the ends there is silence. Rates in Hz; std::invalid_argument when one is not above 0.
std::vector<float> resampled(std::span<const float> samples, int from_rate, int to_rate);

/// The rate nearest to `rate` that every browser plays and no ear misses anything at: 8 to 48 kHz.
/// (Common practice: browsers agree on 8 to 96 kHz; Chromium refuses below 3 kHz.)
int playable_rate(int rate);

}  // namespace hearwood
