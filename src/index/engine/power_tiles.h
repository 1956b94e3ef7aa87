// The powers of the bins in which sound events are looked for, kept for the whole segment in tiles
// of 8 frames: [tile][bin][frame]. They are written and read from front to back, as a memory likes
// it best, and the frames of a bin lie side by side for the kernels.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "index/engine/kernels.h"
#include "index/engine/slot_map.h"
#include "spectrum/frequency_grid.h"

namespace hearwood {

class PowerTiles {
  public:
    /// Memory: 4 bytes a bin and frame, 2.4 MB a minute at any rate.
    PowerTiles(const Kernels& kernels, const SlotMap& slots, BinRange bins, std::int64_t frames);

    void begin() { frames_ = 0; }
    /// The powers of some more frames by slot. REQUIRES: a multiple of 8 frames, but for the last
    /// call; `powers` readable to the next multiple of 8.
    void add(const float* powers, std::size_t stride, int frames);

    BinRange bins() const { return bins_; }
    int frames() const { return frames_; }
    /// The power of the bin of number i among the bins, in a frame from -1 to frames(); the two
    /// outside are there to be written.
    float& at(int i, int frame) { return powers_[index(i, frame)]; }
    float at(int i, int frame) const { return powers_[index(i, frame)]; }
    /// Bin 0 of the tile that begins with frame 0; the tile of the frames before lies in front.
    const float* first() const { return powers_.data() + stride_; }
    /// Floats from tile to tile.
    std::size_t stride() const { return stride_; }

  private:
    std::size_t index(int i, int frame) const {
        const auto from_before = static_cast<std::size_t>(frame + kTileFrames);
        return from_before / kTileFrames * stride_ + static_cast<std::size_t>(i) * kTileFrames +
               from_before % kTileFrames;
    }

    const Kernels& kernels_;
    BinRange bins_;
    int frames_ = 0;
    std::size_t stride_;  ///< of one bin more than there are: for slots of no interest
    std::vector<float> powers_;
    std::vector<int> term_slot_;  ///< as in TurnTerms
    std::vector<std::size_t> term_at_;
};

}  // namespace hearwood
