// Acoustic complexity: how much the amplitude of each bin changes from frame to frame, relative to
// how much there is (Pieretti, Farina & Morri 2011).
#include "index/bins.h"
#include "index/indices.h"

namespace hearwood {
namespace {

double complexity(const SegmentSummary& s, const std::optional<BinRange>& bins) {
    if (!bins || s.steps < 1 || s.step_frames < 2) return kMissing;
    double sum = 0;
    bool heard = false;
    for (int k = bins->first; k < bins->last; ++k) {
        if (!s.counts(k)) continue;
        sum += s.aci_ratio[k];
        heard = heard || s.step_amplitude[k] > 0;
    }
    return heard ? sum : kMissing;
}

}  // namespace

double indices::aci(const SegmentSummary& s, const MeasureSettings& settings) {
    return complexity(s, analysis_range(s, settings));
}

double indices::band_aci(const SegmentSummary& s, const Band& band) {
    return complexity(s, bins_of(s, band));
}

}  // namespace hearwood
