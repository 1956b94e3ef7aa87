// What stands out at each site, hour of the day and band: the patterns that are compared as wholes
// (composition, where in the day and in pitch). From the kept spectra; averaged like any index.
#pragma once

#include <vector>

#include "aggregate/judged_segments.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// Half-open band [low, high) in Hz.
struct PitchBand {
    double low_hz = 0, high_hz = 0;
};

/// Bands of 250 Hz up to 2 kHz and of 500 Hz above, those that lie wholly below half the rate.
std::vector<PitchBand> pitch_bands(int sample_rate);

struct BandHours {
    std::vector<PitchBand> bands;
    /// values[site][hour][band]: the site's value (of hours: the model of site and date) of the
    /// mean share of frames that stand out, over the band's bins that have a background. NaN where
    /// a site has none, or cannot be compared with the others.
    std::vector<std::vector<std::vector<double>>> values;
};

/// Reads every kept spectrum once. Bands are those of `lowest_rate`, the lowest at which any
/// segment that counts was measured (lowest_rate_of). Memory: a number a site, date, hour and band.
BandHours band_hours(const Survey& survey, const Store& store, const JudgedSegments& segments,
                     int lowest_rate);

}  // namespace hearwood
