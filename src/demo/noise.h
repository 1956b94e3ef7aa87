// The steady noises of the demo's sites: the recorder's own, leaves and far water, a stream.
#pragma once

#include <vector>

#include "demo/scenario.h"

namespace hearwood {

/// Gaussian noise behind a low pass of one pole, y += pole (x - y); pole 1 leaves it white.
struct DemoNoise {
    double deviation = 0;  ///< of what goes into the low pass
    double pole = 1;

    /// Mean power over that of white noise of variance 1: the square of the filter's gain times
    /// the variance.
    double density(double hz) const;
};

std::vector<DemoNoise> noises_of(const DemoSite& site);

/// Length of a frog's pulse and of the pause behind it together.
inline constexpr double kFrogPulse_s = 0.055;

}  // namespace hearwood
