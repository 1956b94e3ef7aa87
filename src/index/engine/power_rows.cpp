#include "index/engine/power_rows.h"

#include <algorithm>

namespace hearwood {

PowerRows::PowerRows(const Kernels& kernels, const SlotMap& slots, BinRange bins,
                     std::int64_t frames)
    : kernels_(kernels),
      bins_(bins),
      stride_((static_cast<std::size_t>(frames) + kBefore + kAfter + 15) / 16 * 16) {
    // Rows a multiple of 4 kB apart would crowd into few sets of a cache.
    if (stride_ % 1024 == 0) stride_ += 16;
    if (bins.count() == 0) return;
    const std::size_t spare = static_cast<std::size_t>(bins.count());
    rows_.resize(stride_ * (spare + 1));
    const int lanes = kernels.lanes;
    for (int slot = 0; slot < slots.slots(); slot += lanes) {
        std::vector<std::size_t> to(lanes, spare);
        for (int i = 0; i < lanes; ++i) {
            const int bin = slots.bin_of(slot + i);
            if (bins.contains(bin) && slots.slot_of(bin) == slot + i)
                to[i] = static_cast<std::size_t>(bin - bins.first);
        }
        if (std::all_of(to.begin(), to.end(), [&](std::size_t row) { return row == spare; }))
            continue;
        term_slot_.push_back(slot);
        for (const std::size_t row : to) term_row_.push_back(row * stride_ + kBefore);
    }
}

void PowerRows::add(const float* powers, std::size_t stride, int frames) {
    const TurnTerms terms{static_cast<int>(term_slot_.size()), term_slot_.data(), term_row_.data()};
    // At a low sample rate no bin is of interest, and there are no rows.
    for (int done = 0; done < frames && !rows_.empty(); done += 8) {
        kernels_.turn_powers(powers + stride * static_cast<std::size_t>(done), stride, terms,
                             rows_.data() + frames_ + done);
    }
    frames_ += frames;
}

}  // namespace hearwood
