// Every number of a segment as a function of its summary, one line each; the catalogue gives each
// its name, its words and its place. NaN stands for 'missing'. REQUIRES: a summary with at least
// one frame and only finite samples.
#pragma once

#include "index/segment_summary.h"
#include "survey/settings.h"

namespace hearwood::indices {

double aci(const SegmentSummary& s, const MeasureSettings& settings);
double ndsi(const SegmentSummary& s, const MeasureSettings& settings);
double bi(const SegmentSummary& s, const MeasureSettings& settings);
double hf(const SegmentSummary& s, const MeasureSettings& settings);
double ht(const SegmentSummary& s, const MeasureSettings& settings);
double h(const SegmentSummary& s, const MeasureSettings& settings);
double adi(const SegmentSummary& s, const MeasureSettings& settings);
double aei(const SegmentSummary& s, const MeasureSettings& settings);
double standout(const SegmentSummary& s, const MeasureSettings& settings);
double events(const SegmentSummary& s, const MeasureSettings& settings);

double band_aci(const SegmentSummary& s, const Band& band);
double band_standout(const SegmentSummary& s, const Band& band);
double band_level(const SegmentSummary& s, const Band& band);

double mean_level(const SegmentSummary& s, const MeasureSettings& settings);
/// Level of the frames' raw samples exceeded during so many per cent of the frames.
template <int kPercent>
double exceeded_level(const SegmentSummary& s, const MeasureSettings& settings);
double peak_level(const SegmentSummary& s, const MeasureSettings& settings);
double dc_offset(const SegmentSummary& s, const MeasureSettings& settings);
double clipped_fraction(const SegmentSummary& s, const MeasureSettings& settings);

}  // namespace hearwood::indices
