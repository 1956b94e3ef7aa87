#include "index/sound_event.h"

#include <algorithm>
#include <cmath>

namespace hearwood {
namespace {

constexpr double kFrameOf24kHz = 512;
constexpr int kShortestFrame = 16;  // of the transform
constexpr double kLowHz = 800, kHighHz = 10'500;
constexpr double kLeastEventRate = 21'000;

bool smooth(int n) {
    for (const int factor : {2, 3, 5})
        while (n % factor == 0) n /= factor;
    return n == 1;
}

int nearest_frame(double sample_rate) {
    const double wanted = sample_rate * kFrameOf24kHz / 24'000;
    // From the middle outwards; of two as near the smaller.
    int below = static_cast<int>(wanted) / 2 * 2, above = below + 2;
    while (below > kShortestFrame && !smooth(below)) below -= 2;
    while (!smooth(above)) above += 2;
    below = std::max(below, kShortestFrame);
    return above - wanted < wanted - below ? above : below;
}

}  // namespace

EventGrid::EventGrid(double sample_rate) : grid_(sample_rate, nearest_frame(sample_rate)) {
    if (sample_rate >= kLeastEventRate) bins_ = grid_.bins_in(kLowHz, kHighHz);
}

int EventGrid::background_bands() const {
    return static_cast<int>(std::ceil(grid_.nyquist() / kBackgroundBandHz));
}

BinRange EventGrid::background_bins(int band) const {
    BinRange bins = grid_.bins_in(band * kBackgroundBandHz, (band + 1) * kBackgroundBandHz);
    bins.last = std::min(bins.last, grid_.frame() / 2);  // not the bin at fs/2
    return bins;
}

}  // namespace hearwood
