#include "aggregate/choirs.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/missing.h"

namespace hearwood {

double width_khz(const EventBands& bands) {
    return static_cast<double>(bands.count()) * kEventBandHz / 1000;
}

EventBands bands_of(const SoundEvent& event, const EventGrid& grid) {
    const double low = grid.edge_hz(event.low), high = grid.edge_hz(event.high + 1);
    EventBands bands;
    for (int band = 0; band < kEventBands; ++band) {
        const double from = kFirstEventBandHz + band * kEventBandHz;
        bands[static_cast<std::size_t>(band)] = low < from + kEventBandHz && high > from;
    }
    return bands;
}

double events_outside(const EventBands& bands, const SegmentSounds& sounds, const EventGrid& grid,
                      double duration_s) {
    if (!sounds.listened) return kMissing;
    const auto solo =
        std::count_if(sounds.events.begin(), sounds.events.end(), [&](const SoundEvent& event) {
            const double middle = (grid.edge_hz(event.low) + grid.edge_hz(event.high + 1)) / 2;
            const double band = std::floor((middle - kFirstEventBandHz) / kEventBandHz);
            return band < 0 || band >= kEventBands || !bands[static_cast<std::size_t>(band)];
        });
    return static_cast<double>(solo) / (duration_s / 60);
}

void ChoirSeconds::add(const SegmentSounds& sounds, const EventGrid& grid, double duration_s) {
    const auto seconds = static_cast<std::size_t>(std::ceil(duration_s));
    std::vector<EventBands> filled(seconds);
    for (const SoundEvent& event : sounds.events) {
        const EventBands bands = bands_of(event, grid);
        const double start = event.start * grid.frame_s();
        const double end = start + event.duration * grid.frame_s();
        for (auto s = static_cast<std::size_t>(start); s < seconds && static_cast<double>(s) < end;
             ++s)
            filled[s] |= bands;
    }
    seconds_ += static_cast<std::int64_t>(seconds);
    for (const EventBands& bands : filled)
        for (int band = 0; band < kEventBands; ++band)
            filled_[band] += bands[static_cast<std::size_t>(band)];
}

EventBands ChoirSeconds::choirs(double share) const {
    EventBands bands;
    for (int band = 0; band < kEventBands; ++band)
        bands[static_cast<std::size_t>(band)] =
            static_cast<double>(filled_[band]) > share * static_cast<double>(seconds_);
    return bands;
}

}  // namespace hearwood
