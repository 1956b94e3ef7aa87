// Spectral entropy: how evenly the mean amplitude is spread over the bins (Sueur et al. 2008).
#include <algorithm>
#include <span>

#include "index/definition.h"
#include "index/entropy.h"

namespace hearwood {

double spectral_entropy(const SegmentSummary& s, const MeasureSettings& settings) {
    const auto bins = analysis_range(s, settings);
    if (!bins || bins->count() < 2) return kMissing;
    const std::span<const double> amplitudes(s.mean_amplitude.data() + bins->first, bins->count());
    double total = 0;
    for (const double a : amplitudes) total += a;
    if (total <= 0) return kMissing;
    return std::min(1.0, entropy(amplitudes, total) / std::log(bins->count()));  // but for rounding
}

Definition hf_definition() {
    return {{"hf", "1", Column::Kind::index, "spectral entropy",
             "Entropy of the mean amplitude's shares over the bins of the analysis range, divided "
             "by its greatest "
             "possible value; from 0 to 1.",
             "Sueur et al. 2008"},
            spectral_entropy};
}

}  // namespace hearwood
