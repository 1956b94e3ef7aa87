// Levels of the raw samples, of the whole segment and exceeded during a share of its frames (ISO
// 1996-1 sense), and whether the signal is sound: peak, direct current, clipping.
#include "index/bins.h"
#include "index/engine/rank.h"
#include "index/indices.h"

namespace hearwood {

double indices::mean_level(const SegmentSummary& s, const MeasureSettings&) {
    return level_dbfs(s.mean_square);
}

/// Frame levels sorted from loud to soft, element floor(percent/100 * M) from 0.
template <int kPercent>
double indices::exceeded_level(const SegmentSummary& s, const MeasureSettings&) {
    const std::size_t frames = s.frame_mean_square.size();
    const std::size_t from_soft = frames - 1 - frames * kPercent / 100;
    return level_dbfs(static_cast<double>(value_of_rank(s.frame_mean_square, from_soft)));
}
template double indices::exceeded_level<10>(const SegmentSummary&, const MeasureSettings&);
template double indices::exceeded_level<50>(const SegmentSummary&, const MeasureSettings&);
template double indices::exceeded_level<90>(const SegmentSummary&, const MeasureSettings&);

double indices::peak_level(const SegmentSummary& s, const MeasureSettings&) {
    return s.peak > 0 ? 20 * std::log10(s.peak) : kMissing;
}

double indices::dc_offset(const SegmentSummary& s, const MeasureSettings&) {
    return s.mean;
}

double indices::clipped_fraction(const SegmentSummary& s, const MeasureSettings&) {
    return static_cast<double>(s.clipped) / static_cast<double>(s.samples);
}

}  // namespace hearwood
