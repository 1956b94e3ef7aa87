// Temporal entropy: how evenly the sound is spread over the frames (Sueur et al. 2008, there with
// the envelope by Hilbert transform; here with the root mean square of each frame).
#include <algorithm>

#include "index/definition.h"
#include "index/entropy.h"

namespace hearwood {

// With T = sum e: - sum (e/T) ln (e/T) = ln T - (sum e ln e) / T, one logarithm a frame and no
// division. In single precision, since that is what the frame levels are: 1e-7 of each term.
double temporal_entropy(const SegmentSummary& s, const MeasureSettings&) {
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

Definition ht_definition() {
    return {{"ht", "1", Column::Kind::index, "temporal entropy",
             "Entropy of the frames' root mean squares' shares, divided by its greatest possible "
             "value; from 0 to 1.",
             "Sueur et al. 2008, with frame levels for the envelope"},
            temporal_entropy};
}

}  // namespace hearwood
