// Acoustic complexity: how much the amplitude of each bin changes from frame to frame, relative to
// how much there is (Pieretti, Farina & Morri 2011).
#include "index/definition.h"

namespace hearwood {
namespace {

double complexity(const SegmentSummary& s, const BinRange& bins) {
    if (s.steps < 1 || s.step_frames < 2) return kMissing;
    double sum = 0;
    bool heard = false;
    for (int k = bins.first; k < bins.last; ++k) {
        sum += s.aci_ratio[k];
        heard = heard || s.step_amplitude[k] > 0;
    }
    return heard ? sum : kMissing;
}

double value(const SegmentSummary& s, const MeasureSettings& settings) {
    const auto bins = analysis_range(s, settings);
    return bins ? complexity(s, *bins) : kMissing;
}

double band_value(const SegmentSummary& s, const Band& band) {
    const auto bins = bins_of(s, band);
    return bins ? complexity(s, *bins) : kMissing;
}

constexpr const char* kSource = "Pieretti, Farina & Morri 2011";

}  // namespace

Definition aci_definition() {
    return {
        {"aci", "1", Column::Kind::index, "acoustic complexity index",
         "Sum over steps and bins of the analysis range of the changes of amplitude between "
         "consecutive "
         "frames, divided by the sum of amplitudes in the step; grows with the segment's length.",
         kSource},
        value};
}

BandDefinition aci_band_definition() {
    return {{"aci_NAME", "1", Column::Kind::index, "acoustic complexity index, NAME",
             "The acoustic complexity index over the bins of the band NAME.", kSource},
            band_value};
}

}  // namespace hearwood
