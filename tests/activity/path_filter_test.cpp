// The filter takes off what it is asked for, delays nothing, and does nothing where nothing is
// asked.
#include "activity/path_filter.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <vector>

using namespace hearwood;

namespace {

constexpr double kRate = 24000;

std::vector<float> sine(double hz, std::size_t samples) {
    std::vector<float> x(samples);
    for (std::size_t n = 0; n < samples; ++n)
        x[n] = static_cast<float>(
            std::sin(2 * std::numbers::pi * hz * static_cast<double>(n) / kRate));
    return x;
}

}  // namespace

TEST_CASE("nothing to take off leaves the samples as they are, in their place") {
    const PathFilter filter([](double) { return 0.0; }, kRate);
    PathFilterer filterer;
    const std::vector<float> in = sine(3000, filter.block());
    const auto out = filterer.apply(filter, in);
    REQUIRE(out.size() == filter.gives());
    for (std::size_t n = 0; n < out.size(); ++n)
        CHECK(std::abs(out[n] - in[n + filter.reach()]) < 1e-5);
}

TEST_CASE("a sine loses what is asked at its frequency, and keeps its phase") {
    // 6 dB an octave from 1 kHz on: 0 at 1, 6 at 2, 12 at 4, 18 at 8 kHz.
    const PathFilter filter([](double hz) { return std::max(0.0, 6 * std::log2(hz / 1000)); },
                            kRate);
    PathFilterer filterer;
    for (const double hz : {500.0, 2000.0, 4000.0, 8000.0}) {
        const std::vector<float> in = sine(hz, filter.block());
        const auto out = filterer.apply(filter, in);
        double with = 0, itself = 0;
        for (std::size_t n = 0; n < out.size(); ++n) {
            with += static_cast<double>(out[n]) * static_cast<double>(in[n + filter.reach()]);
            itself += static_cast<double>(in[n + filter.reach()]) *
                      static_cast<double>(in[n + filter.reach()]);
        }
        INFO(hz);
        // 0.1 dB: the filter is 20 ms long and smooths what it takes off over 100 Hz.
        CHECK(-20 * std::log10(with / itself) ==
              Approx(std::max(0.0, 6 * std::log2(hz / 1000))).margin(0.1));
    }
}
