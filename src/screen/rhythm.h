// Rhythm and rumble of the low band: what the engine and wind rules are made of.
#pragma once

#include <span>
#include <vector>

namespace hearwood {

/// Levels of a band, tick by tick, in dB; silent ticks at most -200 dB under a band's usual values.
using Levels = std::vector<double>;

/// Third quartile, over blocks of 5 s, of the largest autocorrelation at lags of 40 to 250 ms of
/// the level's deviation from its running mean over half a second. About 0.08 for noise, towards 1
/// for a regular beat of 4 to 25 a second. NaN without a whole block.
double throb_of(std::span<const double> levels, double tick_s);

/// Median absolute difference between the medians of one second and the next, dB. NaN below two
/// seconds.
double gust_of(std::span<const double> levels, double tick_s);

double median_of(std::vector<double> values);

/// Linear interpolation between order statistics around share (n - 1).
double quantile_of(std::vector<double> values, double share);

}  // namespace hearwood
