#include "index/tick_bands.h"

#include <algorithm>
#include <cmath>

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
    const auto for_each_bin = [&](auto&& visit) {
        for (int band = 0; band < kBands; ++band) {
            const BinRange bins = grid.bins_in(kEdges[band].low_hz, kEdges[band].high_hz);
            for (int k = bins.first; k < bins.last; ++k) visit(band, slots.slot_of(k));
        }
    };
    for_each_bin([&](int, int slot) { slots_read_ = std::max(slots_read_, slot + 1); });
    const int group = 2 * kernels.lanes;
    slots_read_ = (slots_read_ + group - 1) / group * group;
    masks_.assign(static_cast<std::size_t>(kBands) * slots_read_, 0.0F);
    for_each_bin([&](int band, int slot) {
        masks_[static_cast<std::size_t>(band) * slots_read_ + slot] = 1;
    });
}

void TickBands::begin() {
    frames_ = 0;
    sums_.fill(0);
}

void TickBands::add(const float* powers, double scale,
                    std::vector<std::array<float, kBands>>& ticks) {
    kernels_.sum_bands(powers, masks_.data(), slots_read_, sums_.data());
    if (++frames_ < tick_frames_) return;
    for (float& sum : sums_) sum = static_cast<float>(static_cast<double>(sum) * scale);
    ticks.push_back(sums_);
    begin();
}

}  // namespace hearwood
