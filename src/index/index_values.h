// From the summary of a segment to its row of numbers.
#pragma once

#include <vector>

#include "index/segment_summary.h"
#include "survey/settings.h"

namespace hearwood {

/// The values of index_columns(settings), in that order; NaN stands for 'missing' (docs/measures.md
/// says when). REQUIRES: the summary was measured under these settings; summary.frames >= 1 and
/// summary.finite, else every value is NaN.
std::vector<double> index_values(const SegmentSummary& summary, const MeasureSettings& settings);

}  // namespace hearwood
