// Temporal entropy: how evenly the sound is spread over the frames (Sueur et al. 2008, there with
// the envelope by Hilbert transform; here with the root mean square of each frame).
#include "index/definition.h"
#include "index/entropy.h"

namespace hearwood {

double temporal_entropy(const SegmentSummary& s, const MeasureSettings&) {
    if (s.frames < 2) return kMissing;
    std::vector<double> levels(s.frame_mean_square.begin(), s.frame_mean_square.end());
    double total = 0;
    for (double& level : levels) total += level = std::sqrt(level);
    return total > 0 ? entropy(levels, total) / std::log(s.frames) : kMissing;
}

Definition ht_definition() {
    return {{"ht", "1", Column::Kind::index, "temporal entropy",
             "Entropy of the frames' root mean squares' shares, divided by its greatest possible "
             "value; from 0 to 1.",
             "Sueur et al. 2008, with frame levels for the envelope"},
            temporal_entropy};
}

}  // namespace hearwood
