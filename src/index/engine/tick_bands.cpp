#include "index/engine/tick_bands.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace hearwood {
namespace {

struct Edges {
    double low_hz, high_hz;
};

constexpr Edges kEdges[TickBands::kBands] = {{1000, 2000}, {2000, 3000}, {3000, 4000},
                                             {4000, 5000}, {5000, 6000}, {6000, 7000},
                                             {7000, 8000}, {60, 250},    {500, 1000}};
constexpr double kLeastRate = 16000;
constexpr double kTickSeconds = 0.0213;

}  // namespace

TickBands::TickBands(const Kernels& kernels, const SlotMap& slots, const FrequencyGrid& grid,
                     int hop)
    : kernels_(kernels),
      there_(grid.sample_rate() >= kLeastRate),
      tick_frames_(
          std::max(1, static_cast<int>(std::nearbyint(kTickSeconds * grid.sample_rate() / hop)))) {
    if (!there_) return;
    const int lanes = kernels.lanes;
    for (const Edges& edges : kEdges) {
        const BinRange bins = grid.bins_in(edges.low_hz, edges.high_hz);
        bins_read_ = std::max(bins_read_, bins.last);
        std::map<int, std::vector<float>> terms;  // by first slot
        for (int k = bins.first; k < bins.last; ++k) {
            const int slot = slots.slot_of(k);
            auto& mask = terms[slot / lanes * lanes];
            mask.resize(lanes);
            mask[slot % lanes] = 1;
        }
        for (const auto& [slot, mask] : terms) {
            term_slot_.push_back(slot);
            term_mask_.insert(term_mask_.end(), mask.begin(), mask.end());
        }
        band_end_.push_back(static_cast<int>(term_slot_.size()));
    }
}

void TickBands::begin() {
    frames_ = 0;
    sums_.fill(0);
}

void TickBands::add(const float* powers, std::size_t stride, int frames, double scale,
                    std::vector<std::array<float, kBands>>& ticks) {
    const BandTerms terms{kBands, band_end_.data(), term_slot_.data(), term_mask_.data()};
    for (int done = 0; done < frames;) {
        const int count = std::min(frames - done, tick_frames_ - frames_);
        kernels_.sum_bands(powers + stride * done, stride, count, terms, sums_.data());
        done += count;
        frames_ += count;
        if (frames_ < tick_frames_) break;
        for (float& sum : sums_) sum = static_cast<float>(static_cast<double>(sum) * scale);
        ticks.push_back(sums_);
        begin();
    }
}

}  // namespace hearwood
