// Bioacoustic index: area of the mean spectrum above its own minimum (Boelman et al. 2007).
#include <algorithm>

#include "index/definition.h"

namespace hearwood {
namespace {

double value(const SegmentSummary& s, const MeasureSettings& settings) {
    const auto bins = bins_of(s, settings.biophony);
    if (!bins) return kMissing;
    double least = std::numeric_limits<double>::infinity(), sum = 0;
    for (int k = bins->first; k < bins->last; ++k) {
        if (!(s.mean_power[k] > 0)) return kMissing;
        const double level = 10 * std::log10(s.mean_power[k]);
        least = std::min(least, level);
        sum += level;
    }
    return (sum - least * bins->count()) * grid_of(s).bin_width() / 1000;
}

}  // namespace

Definition bi_definition() {
    return {
        {"bi", "dB kHz", Column::Kind::index, "bioacoustic index",
         "Area between the mean spectrum in decibels and its least value, over the biophony band.",
         "Boelman et al. 2007"},
        value};
}

}  // namespace hearwood
