#include "index/engine/slot_map.h"

#include <cmath>
#include <numbers>

namespace hearwood {

SlotMap::SlotMap(int frame, const Kernels& kernels)
    : frame_(frame), lanes_(kernels.lanes), groups_(frame / 2 / 2 / kernels.lanes + 1) {
    const int half = frame / 2;
    bin_of_.resize(static_cast<std::size_t>(2 * lanes_) * groups_);
    slot_of_.assign(half + 1, -1);
    for (int slot = 0; slot < slots(); ++slot) {
        const int within = slot % (2 * lanes_);
        const int pair = slot / (2 * lanes_) * lanes_ + kernels.order[within % lanes_];
        bin_of_[slot] = within < lanes_ ? pair : half - pair;
        if (slot_of_[bin_of_[slot]] < 0) slot_of_[bin_of_[slot]] = slot;
    }
}

int SlotMap::low_groups_below(int bins) const {
    return groups_below(bins, 0);
}
int SlotMap::high_groups_below(int bins) const {
    return groups_below(bins, lanes_);
}

int SlotMap::groups_below(int bins, int half_offset) const {
    int count = 0;
    for (int bin = 0; bin < bins && bin <= frame_ / 2; ++bin) {
        const int slot = slot_of_[bin];
        const bool in_this_half = slot % (2 * lanes_) / lanes_ == half_offset / lanes_;
        if (in_this_half) count = std::max(count, slot / (2 * lanes_) + 1);
    }
    return count;
}

std::vector<float> SlotMap::twiddles() const {
    std::vector<float> table(slots());
    for (int slot = 0; slot < slots(); ++slot) {
        const bool real_part = slot % (2 * lanes_) < lanes_;
        const int k = bin_of_[real_part ? slot : slot - lanes_];
        const double angle = -2 * std::numbers::pi * k / frame_;
        table[slot] = static_cast<float>(real_part ? std::cos(angle) : std::sin(angle));
    }
    return table;
}

}  // namespace hearwood
