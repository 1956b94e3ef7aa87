// Biophony against anthrophony: band powers compared (Kasten et al. 2012).
#include "index/definition.h"

namespace hearwood {
namespace {

double value(const SegmentSummary& s, const MeasureSettings& settings) {
    const auto anthrophony = bins_of(s, settings.anthrophony);
    const auto biophony = bins_of(s, settings.biophony);
    if (!anthrophony || !biophony) return kMissing;
    const double a = band_power(s, *anthrophony), b = band_power(s, *biophony);
    return a + b > 0 ? (b - a) / (b + a) : kMissing;
}

}  // namespace

Definition ndsi_definition() {
    return {{"ndsi", "1", Column::Kind::index, "normalised difference soundscape index",
             "(b - a) / (b + a), a the power of the anthrophony band, b that of the biophony band; "
             "from -1 to 1.",
             "Kasten et al. 2012"},
            value};
}

}  // namespace hearwood
