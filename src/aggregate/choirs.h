// Choirs: insects and frogs that call without end are a texture, not events. Which bands they fill
// at each site and window, and how many events a minute lie outside them (docs/tables.md).
#pragma once

#include <bitset>
#include <cstdint>

#include "index/sound_event.h"

namespace hearwood {

/// 39 bands of 250 Hz from 750 to 10,500 Hz.
inline constexpr int kEventBands = 39;
inline constexpr double kEventBandHz = 250, kFirstEventBandHz = 750;
using EventBands = std::bitset<kEventBands>;

double width_khz(const EventBands& bands);
/// The bands that the event reaches into, from its lower to its upper edge.
EventBands bands_of(const SoundEvent& event, const EventGrid& grid);
/// Events a minute whose middle, between their edges, lies in none of the bands. NaN where events
/// are missing.
double events_outside(const EventBands& bands, const SegmentSounds& sounds, const EventGrid& grid,
                      double duration_s);

/// In how many seconds of sound some event reaches into each band.
class ChoirSeconds {
  public:
    void add(const SegmentSounds& sounds, const EventGrid& grid, double duration_s);
    /// Bands that are filled in more than this share of the seconds.
    EventBands choirs(double share) const;

  private:
    std::int64_t seconds_ = 0;
    std::int64_t filled_[kEventBands] = {};
};

}  // namespace hearwood
