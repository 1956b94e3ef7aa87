// Total entropy: spectral times temporal (Sueur et al. 2008).
#include "index/definition.h"
#include "index/entropy.h"

namespace hearwood {
namespace {

double value(const SegmentSummary& s, const MeasureSettings& settings) {
    return spectral_entropy(s, settings) *
           temporal_entropy(s, settings);  // missing times anything is missing
}

}  // namespace

Definition h_definition() {
    return {{"h", "1", Column::Kind::index, "total entropy",
             "Spectral entropy times temporal entropy; from 0 to 1.", "Sueur et al. 2008"},
            value};
}

}  // namespace hearwood
