// Sounds that stand out of a segment's background, one by one (docs/measures.md, events).
#pragma once

#include <cstdint>
#include <vector>

#include "spectrum/frequency_grid.h"

namespace hearwood {

/// Frames and bins are those of the events' own analysis: EventGrid.
struct SoundEvent {
    std::int32_t start = 0;     ///< first frame
    std::int32_t duration = 0;  ///< frames
    std::int16_t low = 0;       ///< lowest bin
    std::int16_t high = 0;      ///< highest bin
    float peak_db = 0;          ///< greatest mean of 3 x 3 cells, dBFS
    bool operator==(const SoundEvent&) const = default;
};

/// The analysis in which events are found: frames of 21.3 ms side by side, whatever the survey's
/// own frames are.
class EventGrid {
  public:
    explicit EventGrid(double sample_rate);

    /// N: the even number without prime factors above 5 that is nearest to fs 512 / 24000, the
    /// smaller of two.
    int frame() const { return grid_.frame(); }
    const FrequencyGrid& grid() const { return grid_; }
    /// 800 <= f_k < 10,500 Hz; none where fs < 21 kHz.
    BinRange bins() const { return bins_; }
    double frame_s() const { return grid_.frame() / grid_.sample_rate(); }
    /// The outer edge below a bin, Hz; that above is the one below the next.
    double edge_hz(int bin) const { return (bin - 0.5) * grid_.bin_width(); }

    /// Background bands of 250 Hz over 0 .. fs/2; the last may be narrower.
    int background_bands() const;
    BinRange background_bins(int band) const;
    static constexpr double kBackgroundBandHz = 250;

  private:
    FrequencyGrid grid_;
    BinRange bins_;
};

/// What is kept of a segment besides its row.
struct SegmentSounds {
    std::vector<SoundEvent> events;    ///< by start, then low bin, then high
    std::vector<float> background_db;  ///< per band, dBFS of E; -infinity for none
    bool listened = false;             ///< false: events are missing (docs say when)
};

}  // namespace hearwood
