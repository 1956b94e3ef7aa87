// What the screens' rules are built on: ratios, ranks and differences of decibels within a segment,
// so that gain and calibration cancel (but for the two that look for a dead microphone).
// Definitions in docs/screens.md.
#pragma once

#include <limits>
#include <vector>

#include "index/catalogue.h"
#include "index/segment_summary.h"

namespace hearwood {

inline constexpr double kNoValue = std::numeric_limits<double>::quiet_NaN();

/// The quantities of one segment by name; NaN is missing.
struct Quantities {
    double patter = kNoValue, memory = kNoValue, tail = kNoValue, crackle = kNoValue;
    double tilt = kNoValue, surge = kNoValue, drops = kNoValue;
    double throb = kNoValue, hum = kNoValue, whine = kNoValue, lines = kNoValue;
    double swing = kNoValue, flicker = kNoValue, slope = kNoValue;
    double rumble = kNoValue, gust = kNoValue;
    double air_dbfs = kNoValue, flatness_db = kNoValue, silent_share = kNoValue;
    double rain_score = kNoValue, engine_score = kNoValue;
};

/// The columns of quantity_values(), Kind::quantity, in the order of every table.
std::vector<Column> quantity_columns();

/// The values of one segment, parallel to quantity_columns(); NaN for missing (sample rate below 16
/// kHz, a hop of more than 0.1 s, digital silence, too few ticks for a block, samples that are not
/// finite).
std::vector<double> quantity_values(const SegmentSummary& summary);

Quantities quantities_of(const SegmentSummary& summary);

}  // namespace hearwood
