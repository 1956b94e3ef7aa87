// Onset of the dawn chorus at a site on a date: the first time from which the smoothed index has
// covered a quarter of that morning's own rise. A quarter of the rise lies as far up a weak chorus
// as up a strong one, so a louder forest does not pass for an earlier one (docs/statistics.md).
#pragma once

#include <span>
#include <string>
#include <vector>

#include "contrast/contrast.h"

namespace hearwood {

/// Minutes from sunrise. Steps are 5 minutes: [5k, 5k + 5).
struct OnsetRule {
    double night_from = -180, night_to = -90;  ///< where the night level is taken
    double dawn_from = -30, dawn_to = 60;      ///< where the dawn level is taken
    double dawn_share = 0.9;                   ///< quantile of its smoothed steps
    double search_from = -90, search_to = 60;  ///< where an onset may lie
    int smooth_steps = 3;                      ///< running median over so many steps (odd)
    double least_rise = 3;                     ///< in standard deviations of the night's steps
    double share = 0.25;                       ///< of the rise, which the onset has to pass
    int stay_steps = 3;         ///< must stay beyond for so many steps from the onset on
    int least_night_steps = 4;  ///< fewer steps with values: no night level, no onset
};

/// Which way an index moves at dawn.
enum class DawnMove { up, down };

struct OnsetResult {
    double minutes = kMissing;  ///< start of the step, from sunrise; NaN: no onset
    double night_level = kMissing, dawn_level = kMissing, threshold = kMissing;
    std::string why;  ///< why there is none; empty when there is
};

/// A kept segment: midpoint in minutes from sunrise and its value.
struct TimedValue {
    double minutes = 0, value = kMissing;
};

/// The onset of an index that moves that way; with DawnMove::down the dawn level is as low as it is
/// high with up.
OnsetResult dawn_onset(std::span<const TimedValue> values, DawnMove move = DawnMove::up,
                       const OnsetRule& rule = {});
/// How far the dawn lies above the night less how far it lies below: positive where the index
/// rises. NaN without a night or a dawn level.
double lean_at_dawn(std::span<const TimedValue> values, const OnsetRule& rule = {});

/// Means over 5-minute steps from sunrise: steps_of(values, -90, 120)[k] covers [-90 + 5k, -85 +
/// 5k).
std::vector<double> five_minute_means(std::span<const TimedValue> values, double from, double to);

struct OnsetRow {
    std::string index, site, stand, date;
    OnsetResult result;
};
TableOf<OnsetRow> onset_table();

}  // namespace hearwood
