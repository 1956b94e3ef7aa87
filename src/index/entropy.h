// Spectral, temporal and total entropy (Sueur et al. 2008). NaN when missing.
#pragma once

#include "index/segment_summary.h"
#include "survey/settings.h"

namespace hearwood {

double spectral_entropy(const SegmentSummary& s, const MeasureSettings& settings);
double temporal_entropy(const SegmentSummary& s, const MeasureSettings& settings);

}  // namespace hearwood
