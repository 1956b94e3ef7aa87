// The powers of the bins in which sound events are looked for, kept for the whole segment and
// turned so that the frames of a bin lie side by side: the form in which whatever comes after is
// fast.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "index/engine/kernels.h"
#include "index/engine/slot_map.h"
#include "spectrum/frequency_grid.h"

namespace hearwood {

class PowerRows {
  public:
    /// Memory: 4 bytes a bin and frame, 2.4 MB a minute at any rate.
    PowerRows(const Kernels& kernels, const SlotMap& slots, BinRange bins, std::int64_t frames);

    void begin() { frames_ = 0; }
    /// The powers of some more frames by slot. REQUIRES: a multiple of 8 frames, but for the last
    /// call; `powers` readable to the next multiple of 8.
    void add(const float* powers, std::size_t stride, int frames);

    BinRange bins() const { return bins_; }
    int frames() const { return frames_; }
    /// Frame 0 of the bin of number i among the bins; frames -1 and frames() can be written too.
    float* row(int i) { return rows_.data() + stride_ * static_cast<std::size_t>(i) + kBefore; }
    const float* row(int i) const {
        return rows_.data() + stride_ * static_cast<std::size_t>(i) + kBefore;
    }
    std::size_t stride() const { return stride_; }

  private:
    static constexpr std::size_t kBefore = 8, kAfter = 16;  ///< floats beside the frames

    const Kernels& kernels_;
    BinRange bins_;
    int frames_ = 0;
    std::size_t stride_;
    std::vector<float> rows_;     ///< one more than there are bins: for slots of no interest
    std::vector<int> term_slot_;  ///< as in TurnTerms
    std::vector<std::size_t> term_row_;
};

}  // namespace hearwood
