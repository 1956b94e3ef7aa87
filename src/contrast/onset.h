// Onset of the dawn chorus at a site on a date: the first time from which the smoothed index stays
// above its night level by a stated rule.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "contrast/contrast.h"

namespace hearwood {

/// Minutes from sunrise. Steps are 5 minutes: [5k, 5k + 5).
struct OnsetRule {
    double night_from = -180, night_to = -90;  ///< where the night level is taken
    double search_from = -90, search_to = 60;  ///< where an onset may lie
    int smooth_steps = 3;                      ///< running median over so many steps (odd)
    double deviations = 3;      ///< above night median + so many scaled median deviations
    int stay_steps = 3;         ///< must stay above for so many steps from the onset on
    int least_night_steps = 4;  ///< fewer steps with values: no night level, no onset
};

struct OnsetResult {
    double minutes = kMissing;  ///< start of the step, from sunrise; NaN: no onset
    double night_level = kMissing, threshold = kMissing;
    std::string why;  ///< why there is none; empty when there is
};

/// A kept segment: midpoint in minutes from sunrise and its value.
struct TimedValue {
    double minutes = 0, value = kMissing;
};

OnsetResult dawn_onset(std::span<const TimedValue> values, const OnsetRule& rule = {});

/// Means over 5-minute steps from sunrise: steps_of(values, -90, 120)[k] covers [-90 + 5k, -85 +
/// 5k).
std::vector<double> five_minute_means(std::span<const TimedValue> values, double from, double to);

struct OnsetRow {
    std::string index, site, stand, date;
    OnsetResult result;
};
TableOf<OnsetRow> onset_table();
std::string onset_csv(std::span<const OnsetRow> rows);

}  // namespace hearwood
