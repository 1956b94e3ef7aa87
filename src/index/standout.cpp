// Share of cells that stand out of their bin's own background (own definition; the idea of counting
// the space used as in Aide et al. 2017).
#include "index/definition.h"

namespace hearwood {
namespace {

double share(const SegmentSummary& s, const BinRange& bins) {
    std::int64_t cells = 0, out = 0;
    for (int k = bins.first; k < bins.last; ++k) {
        if (!s.has_background[k]) continue;
        cells += s.frames;
        out += s.standout_cells[k];
    }
    return cells > 0 ? static_cast<double>(out) / static_cast<double>(cells) : kMissing;
}

double band_value(const SegmentSummary& s, const Band& band) {
    const auto bins = bins_of(s, band);
    return bins ? share(s, *bins) : kMissing;
}

double value(const SegmentSummary& s, const MeasureSettings& settings) {
    return band_value(s, settings.biophony);
}

constexpr const char* kSource = "own definition; idea of space use as in Aide et al. 2017";

}  // namespace

Definition standout_definition() {
    return {{"standout", "1", Column::Kind::index, "share that stands out",
             "Share of the cells of the biophony band that rise 6 dB above the mean of their bin's "
             "own background; "
             "0.0187 for stationary noise.",
             kSource},
            value};
}

BandDefinition standout_band_definition() {
    return {{"standout_NAME", "1", Column::Kind::index, "share that stands out, NAME",
             "Share of the cells of the band NAME that rise 6 dB above the mean of their bin's own "
             "background.",
             kSource},
            band_value};
}

}  // namespace hearwood
