// Sound events of a segment: groups of cells that rise above the background (docs/measures.md,
// events).
#pragma once

#include <cstdint>
#include <vector>

#include "index/engine/background.h"
#include "index/engine/kernels.h"
#include "index/engine/power_rows.h"
#include "index/engine/slot_map.h"
#include "index/sound_event.h"

namespace hearwood {

class EventFinder {
  public:
    /// A power of the rows times `to_square` is E = A^2. All that is passed must outlive the
    /// object.
    EventFinder(const Kernels& kernels, const EventGrid& grid, const SlotMap& slots,
                double to_square, std::int64_t most_frames);

    /// What the segment's rows and background say. REQUIRES: background.finish() was called, for
    /// the same frames. Changes the rows: their ends get copies of the outermost frames.
    void find(PowerRows& rows, const Background& background, SegmentSounds& sounds);

  private:
    /// Frames [first, last) of one bin that are up.
    struct Run {
        std::int32_t first, last;
        std::int32_t group;  ///< of another run, or its own number
    };
    struct Group;

    double quantile(const PowerRows& rows, const Background& background, int bin);
    bool prepare(PowerRows& rows);
    void find_up(const PowerRows& rows);
    void find_runs(int frames);
    void collect(const PowerRows& rows, SegmentSounds& sounds);
    std::int32_t root(std::int32_t run);
    void join(std::int32_t a, std::int32_t b);
    float greatest_mean(const PowerRows& rows, int i, const Run& run) const;

    const Kernels& kernels_;
    const EventGrid& grid_;
    const SlotMap& slots_;
    double to_square_;
    int block_, blocks_;
    std::vector<std::int16_t> swaps_, block_of_;
    std::vector<float> share_above_;

    // Of a segment.
    std::vector<double> means_;   ///< of the background, per bin below fs/2, in powers of the rows
    std::vector<float> to_rise_;  ///< per bin
    std::vector<float> in_bracket_;  ///< values among which a quantile is
    std::vector<std::uint8_t> up_;   ///< [8 frames][bin], a bit a frame
    std::vector<Run> runs_;          ///< bin by bin
    std::vector<std::int32_t> bin_end_;
};

/// Pairs of places to be put in order one after another, which bring the element of rank count / 2
/// of `count` to its place: Batcher's network for sorting less what that place does not need.
std::vector<std::int16_t> median_network(int count);

}  // namespace hearwood
