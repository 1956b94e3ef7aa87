// Rhythm and rumble of the low band: what the engine and wind rules are made of. Ticks are of 0.1 s
// at most.
#pragma once

#include <array>
#include <span>
#include <vector>

namespace hearwood {

/// Third quartile, over blocks of 5 s, of the largest autocorrelation at lags of 40 to 250 ms of
/// the level's deviation from its running mean over half a second. About 0.08 for noise, towards 1
/// for a regular beat of 4 to 25 a second. NaN without a whole block.
double throb_of(std::span<const double> levels, double tick_s);

/// Median absolute difference between the medians of one second and the next, dB, of a band's power
/// tick by tick (positive). NaN below two seconds.
double change_by_second(std::span<const float> powers, double tick_s);

/// Median absolute difference, dB, between the mean power of one tenth of a second (whole ticks, as
/// near as they come) and of the next. About 1.3 dB for Gaussian noise in [60, 250) Hz, less where
/// steady tones outweigh it. NaN below two tenths.
double flicker_of(std::span<const float> powers, double tick_s);

/// Quantiles of positive powers in dB: linear interpolation, in decibels, between the order
/// statistics around share (n - 1). Order survives the logarithm, so two logarithms a quantile do.
/// NaN for no powers.
template <std::size_t n>
std::array<double, n> quantiles_db(std::span<const float> powers,
                                   const std::array<double, n>& shares);

}  // namespace hearwood
