// What rises above its own background: the share of cells, and sounds counted one by one.
//
// Share of cells that stand out of their bin's own background (own definition; the idea of counting
// the space used as in Aide et al. 2017).
#include "index/bins.h"
#include "index/indices.h"

namespace hearwood {

double indices::band_standout(const SegmentSummary& s, const Band& band) {
    const auto bins = bins_of(s, band);
    if (!bins) return kMissing;
    std::int64_t cells = 0, out = 0;
    for (int k = bins->first; k < bins->last; ++k) {
        if (!s.has_background[k] || !s.counts(k)) continue;
        cells += s.frames;
        out += s.standout_cells[k];
    }
    return cells > 0 ? static_cast<double>(out) / static_cast<double>(cells) : kMissing;
}

double indices::standout(const SegmentSummary& s, const MeasureSettings& settings) {
    return band_standout(s, settings.biophony);
}

double indices::events(const SegmentSummary& s, const MeasureSettings&) {
    if (!s.sounds.listened) return kMissing;
    const double minutes = static_cast<double>(s.samples) / s.sample_rate / 60;
    return static_cast<double>(s.sounds.events.size()) / minutes;
}

}  // namespace hearwood
