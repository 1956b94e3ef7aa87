// Shares of loud cells in 1 kHz bands, the ground of the diversity and evenness indices
// (Villanueva-Rivera et al. 2011).
#pragma once

#include <vector>

#include "index/segment_summary.h"

namespace hearwood {

/// Per band [b, b+1) kHz, b = 0..9, that ends at or below fs/2: the share of its cells (bins x
/// frames) above -50 dBFS. Empty when there is no such band, when a band holds no bin, or when no
/// cell is loud: the indices are then missing.
std::vector<double> loud_shares(const SegmentSummary& s);

}  // namespace hearwood
