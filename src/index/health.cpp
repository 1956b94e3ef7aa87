// Whether the signal is sound: peak, direct current, clipping.
#include "index/definition.h"

namespace hearwood {
namespace {

double peak(const SegmentSummary& s, const MeasureSettings&) {
    return s.peak > 0 ? 20 * std::log10(s.peak) : kMissing;
}

double offset(const SegmentSummary& s, const MeasureSettings&) {
    return s.mean;
}

double clipped(const SegmentSummary& s, const MeasureSettings&) {
    return static_cast<double>(s.clipped) / static_cast<double>(s.samples);
}

}  // namespace

Definition peak_dbfs_definition() {
    return {{"peak_dbfs", "dBFS", Column::Kind::health, "peak level",
             "20 log10 of the greatest absolute sample.", "common practice", true},
            peak};
}

Definition dc_offset_definition() {
    return {{"dc_offset", "FS", Column::Kind::health, "mean of the samples",
             "Mean of the samples, full scale at 1.", "common practice", true},
            offset};
}

Definition clipped_fraction_definition() {
    return {{"clipped_fraction", "1", Column::Kind::health, "share of clipped samples",
             "Share of the samples in runs of two or more at the top or bottom code.",
             "common practice", true},
            clipped};
}

}  // namespace hearwood
