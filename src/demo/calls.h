// The calls of a file of the demo, one by one: what is synthesised, and what truth.csv counts.
#pragma once

#include <cstddef>
#include <vector>

#include "demo/scenario.h"

namespace hearwood {

/// A note of a bird: one tone that glides; or a call of a frog: pulses of one pitch.
struct DemoCall {
    enum class Animal { bird, frog };
    Animal animal = Animal::bird;
    double at_s = 0, length_s = 0;
    double from_hz = 0, to_hz = 0;
    double distance_m = 0;  ///< from where the animal sits to the recorder
    double level_dbfs = 0;  ///< at the recorder: behind the stand
};

/// The same every time: they depend on the file's seed and rates and on how far sound carries at
/// the site. A dead microphone hears none of them. By animal, then as drawn.
std::vector<DemoCall> calls_of(const DemoSite& site, const DemoFile& file);

/// Level of a site's noise at a pitch as the sound events see it: mean power of a bin of 512
/// samples, dBFS, without insects.
double noise_level_dbfs(const DemoSite& site, double hz);

/// Numbers of calls in a file.
struct DemoCalls {
    int birds = 0, frogs = 0;
    /// Of both, those that would stand out beside the loudest noise of any site: at least
    /// kAudibleDb above it, and in the range in which sound events are counted. An event is 5 dB
    /// above the background in the mean of 3 x 3 cells; a tone fills half of such a square (3 dB),
    /// and must stay above it for 80 ms of a call that swells and fades (2 dB).
    int audible = 0;
    /// Of these, those that would also stand out behind the stand that takes off most.
    int audible_everywhere = 0;
};
inline constexpr double kAudibleDb = 10;
DemoCalls count_calls(const DemoScenario& scenario, const DemoFile& file);

}  // namespace hearwood
