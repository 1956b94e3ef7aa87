// Random numbers that are the same on every machine: the standard library's distributions are not.
#pragma once

#include <cstdint>

#include "statistics/random.h"

namespace hearwood {

/// Draws for sounds, on splitmix64: one 64-bit state.
class DemoRandom {
  public:
    explicit DemoRandom(std::uint64_t seed) : state_(seed) {}

    std::uint64_t bits() { return splitmix64(state_); }
    /// Uniform in [0, 1).
    double uniform() { return static_cast<double>(bits() >> 11) * 0x1.0p-53; }
    double uniform(double low, double high) { return low + (high - low) * uniform(); }
    /// Uniform in 0 .. count - 1; count is small, so the bias of the product is below 2^-50.
    int below(int count) { return static_cast<int>(uniform() * count); }
    bool chance(double probability) { return uniform() < probability; }
    /// About Gaussian with mean 0 and variance 1: the sum of four 16-bit uniforms from one draw.
    /// Its tails end at 3.5 deviations; a frame's spectrum, a sum of hundreds of them, does not
    /// feel that.
    float gaussian() {
        const std::uint64_t draw = bits();
        const auto sum = static_cast<std::int64_t>((draw & 0xFFFF) + (draw >> 16 & 0xFFFF) +
                                                   (draw >> 32 & 0xFFFF) + (draw >> 48)) -
                         131070;
        return static_cast<float>(sum) * (1.7320508f / 65535.5f);
    }

  private:
    std::uint64_t state_;
};

}  // namespace hearwood
