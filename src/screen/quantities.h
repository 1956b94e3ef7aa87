// What the screens' rules are built on: ratios, ranks and differences of decibels within a segment,
// so that gain and calibration cancel (but for the two that look for a dead microphone).
// Definitions in docs/screens.md.
#pragma once

#include <vector>

#include "base/missing.h"
#include "index/catalogue.h"
#include "index/segment_summary.h"

namespace hearwood {

/// The quantities of one segment by name; NaN is missing.
struct Quantities {
    double patter = kMissing, memory = kMissing, tail = kMissing, crackle = kMissing;
    double tilt = kMissing, surge = kMissing, drops = kMissing;
    double throb = kMissing, hum = kMissing, whine = kMissing, lines = kMissing;
    double swing = kMissing, flicker = kMissing, slope = kMissing, hump = kMissing;
    double rumble = kMissing, gust = kMissing;
    double air_dbfs = kMissing, flatness_db = kMissing, silent_share = kMissing;
    double rain_score = kMissing, engine_score = kMissing;
};

/// The columns of quantity_values(), Kind::quantity, in the order of every table.
std::vector<Column> quantity_columns();

/// The values of one segment, parallel to quantity_columns(); NaN for missing (sample rate below 16
/// kHz, a hop of more than 0.1 s, digital silence, too few ticks for a block, samples that are not
/// finite).
std::vector<double> quantity_values(const SegmentSummary& summary);

Quantities quantities_of(const SegmentSummary& summary);

}  // namespace hearwood
