// Where the kernels keep each bin, and tables in that order.
#pragma once

#include <vector>

#include "index/engine/kernels.h"

namespace hearwood {

class SlotMap {
  public:
    /// REQUIRES: frame even and >= 16.
    SlotMap(int frame, const Kernels& kernels);

    int groups() const { return groups_; }
    int slots() const { return static_cast<int>(bin_of_.size()); }
    /// The bin that a slot holds, 0..N/2.
    int bin_of(int slot) const { return bin_of_[slot]; }
    /// The slot to read a bin from.
    int slot_of(int bin) const { return slot_of_[bin]; }

    /// Groups 0..n-1 hold every low (high) slot whose bin is below `bins`.
    int low_groups_below(int bins) const;
    int high_groups_below(int bins) const;

    /// W^k = exp(-2 pi i k / N) for CellRun::twiddle.
    std::vector<float> twiddles() const;

  private:
    int groups_below(int bins, int half_offset) const;

    int frame_, lanes_, groups_;
    std::vector<int> bin_of_, slot_of_;
};

}  // namespace hearwood
