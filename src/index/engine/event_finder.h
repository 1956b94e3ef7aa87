// Sound events of a segment: groups of cells that rise above the background (docs/measures.md,
// events).
#pragma once

#include <cstdint>
#include <vector>

#include "index/engine/background.h"
#include "index/engine/kernels.h"
#include "index/engine/median_network.h"
#include "index/engine/power_tiles.h"
#include "index/engine/slot_map.h"
#include "index/sound_event.h"

namespace hearwood {

class EventFinder {
  public:
    /// A power of the tiles times `to_square` is E = A^2. All that is passed must outlive the
    /// object.
    EventFinder(const Kernels& kernels, const EventGrid& grid, const SlotMap& slots,
                double to_square, std::int64_t most_frames);

    /// What the segment's powers and background say. REQUIRES: background.finish() was called, for
    /// the same frames, with keep_places(). Changes the tiles: their ends get copies of the
    /// outermost frames.
    void find(PowerTiles& tiles, const Background& background, SegmentSounds& sounds);

  private:
    /// Frames [first, last) of one bin that are up.
    struct Run {
        std::int32_t first, last;
        std::int32_t group;  ///< of another run, or its own number
    };
    struct Group;

    double quantile(const PowerTiles& tiles, const Background& background, int bin);
    bool prepare(PowerTiles& tiles);
    void find_up(int frames);
    void find_runs(int frames);
    void find_runs_of(int bin, int frames);
    void collect(int first_bin, SegmentSounds& sounds);
    std::int32_t root(std::int32_t run);
    void join(std::int32_t a, std::int32_t b);

    const Kernels& kernels_;
    const EventGrid& grid_;
    const SlotMap& slots_;
    double to_square_;
    int block_, blocks_;
    MedianNetwork network_;
    std::vector<std::int16_t> block_of_;
    std::vector<float> share_above_;

    // Of a segment.
    std::vector<double> means_;   ///< of the background, per bin below fs/2, in powers of the tiles
    std::vector<float> to_rise_;  ///< per bin
    std::vector<float> powers_, in_place_;  ///< of a bin; those among which its quantile is
    RiseSearch search_;
    std::size_t up_words_;           ///< of a bin
    std::vector<std::uint64_t> up_;  ///< [bin][64 frames], a bit a frame
    std::vector<Run> runs_;          ///< bin by bin
    std::vector<std::int32_t> bin_end_;
};

}  // namespace hearwood
