// The analysis in which sound events are found: frames of 21.3 ms at every sample rate. Where the
// survey's own frames are the same the transform is shared, else it is done once more.
#pragma once

#include <memory>
#include <span>
#include <vector>

#include "index/engine/background.h"
#include "index/engine/event_finder.h"
#include "index/engine/frame_window.h"
#include "index/engine/framer.h"
#include "index/engine/power_tiles.h"
#include "index/engine/precise_spectra.h"
#include "index/engine/slot_map.h"
#include "index/sound_event.h"
#include "spectrum/packed_fft_batch.h"

namespace hearwood {

class EventAnalysis {
  public:
    /// `frame`, `hop`: the survey's.
    EventAnalysis(const Kernels& kernels, double sample_rate, std::int64_t segment_samples,
                  int frame, int hop, bool single_floats);

    const EventGrid& grid() const { return grid_; }
    /// True: the survey's frames are these frames; the caller hands over their powers.
    bool shared() const { return !own_; }

    void begin();
    /// REQUIRES: not shared().
    template <typename T>
    void add(std::span<const T> samples);
    /// Powers by slot of some more of the survey's frames (PowerTiles::add). REQUIRES: shared().
    void add_powers(const float* powers, std::size_t stride, int frames) {
        tiles_.add(powers, stride, frames);
    }
    /// `of_survey`: the finished background of the survey's frames; read when shared().
    void finish(const Background& of_survey, SegmentSounds& sounds);

  private:
    /// Frames transformed at a time: as much as 32 frames of 512.
    static constexpr int kBatch = 16;

    struct Own {
        Own(const Kernels& kernels, const SlotMap& slots, const EventGrid& grid,
            std::int64_t most_frames);
        Framer framer;
        PackedFftBatch batch;
        std::unique_ptr<PreciseSpectra> precise;
        std::vector<float> twiddles, powers;
        int low_groups, high_groups;
        Background background;
        int waiting = 0;
        bool single = true;  ///< single precision does for this segment's samples
    };

    template <typename T>
    void add_frame(const T* x);
    void transform();

    const Kernels& kernels_;
    bool single_floats_;
    EventGrid grid_;
    SlotMap slots_;
    FrameWindow window_;
    std::int64_t most_frames_;
    PowerTiles tiles_;
    EventFinder finder_;
    std::unique_ptr<Own> own_;
};

}  // namespace hearwood
