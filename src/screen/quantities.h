// What the screens' rules are built on: ratios, ranks and differences of decibels within a segment,
// so that gain and calibration cancel. Definitions in docs/screens.md; symbols as there.
#pragma once

#include <vector>

#include "index/catalogue.h"
#include "index/segment_summary.h"

namespace hearwood {

/// The columns of quantity_values(), Kind::quantity, in the order of every table.
std::vector<Column> quantity_columns();

/// The values of one segment, parallel to quantity_columns(); NaN for missing (sample rate below 16
/// kHz, digital silence, too few ticks for a block, samples that are not finite).
std::vector<double> quantity_values(const SegmentSummary& summary);

}  // namespace hearwood
