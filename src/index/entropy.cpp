// Entropies over frequency and over time, and their product (Sueur et al. 2008).
#include <algorithm>
#include <span>

#include "index/bins.h"
#include "index/indices.h"

namespace hearwood {

double indices::hf(const SegmentSummary& s, const MeasureSettings& settings) {
    const auto bins = analysis_range(s, settings);
    if (!bins || bins->count() < 2) return kMissing;
    const std::span<const double> amplitudes(s.mean_amplitude.data() + bins->first, bins->count());
    double total = 0;
    for (const double a : amplitudes) total += a;
    if (total <= 0) return kMissing;
    return std::min(1.0, entropy(amplitudes, total) / std::log(bins->count()));  // but for rounding
}

// The paper takes the envelope by Hilbert transform, here it is the root mean square of each frame.
// With T = sum e: - sum (e/T) ln (e/T) = ln T - (sum e ln e) / T, one logarithm a frame and no
// division. In single precision, since that is what the frame levels are: 1e-7 of each term.
double indices::ht(const SegmentSummary& s, const MeasureSettings&) {
    if (s.frames < 2) return kMissing;
    double total = 0, weighted = 0;
    for (const float mean_square : s.frame_mean_square) {
        if (mean_square == 0) continue;
        const auto level = static_cast<double>(std::sqrt(mean_square));
        total += level;
        weighted += level * 0.5 * static_cast<double>(std::log(mean_square));
    }
    if (total == 0) return kMissing;
    return std::clamp((std::log(total) - weighted / total) / std::log(s.frames), 0.0, 1.0);
}

double indices::h(const SegmentSummary& s, const MeasureSettings& settings) {
    return hf(s, settings) * ht(s, settings);  // missing times anything is missing
}

}  // namespace hearwood
