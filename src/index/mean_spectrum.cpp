// What is read off the mean spectrum: biophony against anthrophony (Kasten et al. 2012), the area
// above the spectrum's own minimum (Boelman et al. 2007), levels of bands.
#include <algorithm>

#include "index/bins.h"
#include "index/indices.h"

namespace hearwood {

double indices::ndsi(const SegmentSummary& s, const MeasureSettings& settings) {
    const auto anthrophony = bins_of(s, settings.anthrophony);
    const auto biophony = bins_of(s, settings.biophony);
    if (!anthrophony || !biophony) return kMissing;
    const double a = band_power(s, *anthrophony), b = band_power(s, *biophony);
    return a + b > 0 ? (b - a) / (b + a) : kMissing;
}

double indices::bi(const SegmentSummary& s, const MeasureSettings& settings) {
    const auto bins = bins_of(s, settings.biophony);
    if (!bins) return kMissing;
    double least = std::numeric_limits<double>::infinity(), sum = 0;
    int count = 0;
    for (int k = bins->first; k < bins->last; ++k) {
        if (!s.counts(k)) continue;
        if (!(s.mean_power[k] > 0)) return kMissing;
        const double level = 10 * std::log10(s.mean_power[k]);
        least = std::min(least, level);
        sum += level;
        ++count;
    }
    if (count == 0) return kMissing;
    return (sum - least * count) * grid_of(s).bin_width() / 1000;
}

double indices::band_level(const SegmentSummary& s, const Band& band) {
    const auto bins = bins_of(s, band);
    return bins ? level_dbfs(band_power(s, *bins)) : kMissing;
}

}  // namespace hearwood
