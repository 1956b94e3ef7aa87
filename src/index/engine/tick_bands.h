// Sums of |X|^2 in nine bands and short ticks of time, from which the screens are computed
// (docs/screens.md): [1,2) .. [7,8) kHz, then [60,250) and [500,1000) Hz.
#pragma once

#include <array>
#include <vector>

#include "index/engine/kernels.h"
#include "index/engine/slot_map.h"
#include "spectrum/frequency_grid.h"

namespace hearwood {

class TickBands {
  public:
    static constexpr int kBands = 9;

    TickBands(const Kernels& kernels, const SlotMap& slots, const FrequencyGrid& grid, int hop);

    /// T = max(1, round(0.0213 fs / H)) frames make a tick.
    int tick_frames() const { return tick_frames_; }
    /// False below 16 kHz sample rate: nothing is summed.
    bool there() const { return there_; }
    /// The bins 0..n-1 whose powers are read.
    int bins_read() const { return bins_read_; }

    void begin();
    /// The powers of some more frames by slot, to be multiplied with `scale`; whole ticks go to
    /// `ticks`.
    void add(const float* powers, std::size_t stride, int frames, double scale,
             std::vector<std::array<float, kBands>>& ticks);

  private:
    const Kernels& kernels_;
    bool there_;
    int tick_frames_;
    int bins_read_ = 0;
    int frames_ = 0;  ///< in the tick so far
    std::array<float, kBands> sums_{};
    std::vector<int> band_end_, term_slot_;  ///< as in BandTerms
    std::vector<float> term_mask_;
};

}  // namespace hearwood
