// The quiet tenth of every bin, and how often the bin rises well above it (docs/measures.md,
// standout and events).
//
// A segment's cells are kept as 16-bit steps of 0.012 dB (kernels.h), all of them, so that the
// quantile is that of the definition to within half a step. Segments longer than the store holds
// are poured from time to time into histograms of 0.094 dB, and the quantile then comes from those.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "index/engine/kernels.h"

namespace hearwood {

class QuantileSearch;

class Background {
  public:
    /// Memory: 2 bytes a slot and frame. When that is more than kMostBytes and than histograms take
    /// (16 kB a slot): those and kPouredBytes.
    Background(const Kernels& kernels, int groups, std::int64_t frames, int batch);

    void begin();
    /// Room for up to `batch` frames: where the first one's row of group 0 goes. The rows of one
    /// group lie one after another; the next group is cell_stride() further.
    std::int16_t* next_rows(int frames);
    std::size_t cell_stride() const { return static_cast<std::size_t>(capacity_) * row_; }

    /// Finds the quantiles. REQUIRES: a frame at least.
    void finish();
    /// The same; per slot also the frames that stand out, and has_background 0 where the tenth
    /// quantile is 0.
    void finish(std::vector<std::uint32_t>& standout, std::vector<std::uint8_t>& has_background);

    /// After finish(), of a slot: the quantile lies in [low, high), and so many frames below low.
    struct Place {
        float low = 0, high = 0;  ///< powers
        std::int32_t below = 0;
        float value = 0;  ///< the quantile itself, to half a step; 0 where low is 0
    };
    const Place& quantile(int slot) const { return places_[slot]; }
    /// The frames in which a slot's power lies in that place; none where they are not known, as of
    /// segments that were poured. REQUIRES: keep_places().
    std::span<const std::int32_t> frames_in_place(int slot) const {
        return std::span(frames_in_place_)
            .subspan(place_begin_[slot], place_begin_[slot + 1] - place_begin_[slot]);
    }
    /// Before the first segment: frames_in_place() is wanted.
    void keep_places();

    static constexpr std::int64_t kMostBytes = 16 << 20;
    static constexpr std::int64_t kPouredBytes = 1 << 20;

  private:
    void pour();
    void search_group(int group, std::uint32_t* standout);
    void find_places(int group, const QuantileSearch& search);
    void search_histogram(int column, std::uint32_t* standout);

    const Kernels& kernels_;
    int groups_, row_;         ///< row_: cells of a group and frame
    int capacity_;             ///< frames that the store holds
    int held_ = 0;             ///< frames in it
    std::int64_t poured_ = 0;  ///< frames in the histograms
    std::vector<std::int16_t> cells_;
    std::vector<std::uint32_t>
        histograms_;             ///< per column kQuantileSteps counts; empty for short segments
    std::vector<Place> places_;  ///< per slot
    std::vector<std::size_t> place_begin_;       ///< per slot and one more; empty: not wanted
    std::vector<std::int32_t> frames_in_place_;  ///< slot by slot
    std::vector<std::int32_t> found_;            ///< of a group, as cells_between has them
};

}  // namespace hearwood
