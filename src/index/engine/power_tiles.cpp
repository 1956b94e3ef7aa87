#include "index/engine/power_tiles.h"

#include <algorithm>

namespace hearwood {

PowerTiles::PowerTiles(const Kernels& kernels, const SlotMap& slots, BinRange bins,
                       std::int64_t frames)
    : kernels_(kernels),
      bins_(bins),
      stride_((static_cast<std::size_t>(std::max(bins.count(), 0)) + 1) * kTileFrames) {
    if (bins.count() == 0) return;
    const auto spare = static_cast<std::size_t>(bins.count());
    const auto tiles = static_cast<std::size_t>(frames) / kTileFrames + 1;
    powers_.resize(stride_ * (tiles + 2));
    const int lanes = kernels.lanes;
    for (int slot = 0; slot < slots.slots(); slot += lanes) {
        std::vector<std::size_t> to(lanes, spare);
        for (int i = 0; i < lanes; ++i) {
            const int bin = slots.bin_of(slot + i);
            if (bins.contains(bin) && slots.slot_of(bin) == slot + i)
                to[i] = static_cast<std::size_t>(bin - bins.first);
        }
        if (std::all_of(to.begin(), to.end(), [&](std::size_t bin) { return bin == spare; }))
            continue;
        term_slot_.push_back(slot);
        for (const std::size_t bin : to) term_at_.push_back(bin * kTileFrames);
    }
}

void PowerTiles::add(const float* powers, std::size_t stride, int frames) {
    const TurnTerms terms{static_cast<int>(term_slot_.size()), term_slot_.data(), term_at_.data()};
    for (int done = 0; done < frames && terms.terms > 0; done += kTileFrames) {
        const auto tile = static_cast<std::size_t>((frames_ + done) / kTileFrames);
        kernels_.turn_powers(powers + stride * static_cast<std::size_t>(done), stride, terms,
                             powers_.data() + (tile + 1) * stride_);
    }
    frames_ += frames;
}

}  // namespace hearwood
