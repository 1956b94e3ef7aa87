// The sums for the screens: nine bands, short ticks.
#include <catch2/catch.hpp>

#include "signals.h"

using namespace hearwood;

TEST_CASE("ticks last about 21 ms at every rate, and a tone lands in its band") {
    for (const auto& [rate, frames] :
         {std::pair{16000.0, 1}, std::pair{24000.0, 1}, std::pair{48000.0, 2},
          std::pair{96000.0, 4}, std::pair{192000.0, 8}}) {
        const double hz = std::round(4500 / (rate / 512)) * rate / 512;
        const auto s = measure(sine(0.5, hz, rate, static_cast<std::size_t>(rate)), rate).summary;
        CHECK(s.tick_frames == frames);
        CHECK(s.tick_power.size() == static_cast<std::size_t>(s.frames / frames));
        // |X| of a sine of amplitude a: a sum(w)/2 in the middle, half of that beside it: |X|^2
        // sums to 1.5 times the middle's, over the frames of the tick.
        const double middle = 0.5 * 256 / 2;
        for (const auto& tick : s.tick_power) {
            CHECK(static_cast<double>(tick[3]) ==
                  Approx(frames * 1.5 * middle * middle).epsilon(1e-4));
            CHECK(static_cast<double>(tick[0]) < 1e-3);
            CHECK(static_cast<double>(tick[7]) < 1e-3);
        }
    }
}

TEST_CASE("ticks that do not fit into a batch of transforms are whole all the same") {
    MeasureSettings settings;
    settings.hop = 333;  // T = round(0.0213 * 48000 / 333) = 3, and 32 is no multiple of 3
    const auto x = white_noise(0.1, 48000, 3);
    const auto s = measure(x, 48000, settings).summary;
    REQUIRE(s.tick_frames == 3);
    CHECK(s.tick_power.size() == static_cast<std::size_t>(s.frames / 3));
    // All ticks together hold the mean spectrum's power, those of an unfinished one apart.
    double total = 0;
    for (const auto& tick : s.tick_power) total += static_cast<double>(tick[0]);
    double expected = 0;
    for (int k = 11; k < 22; ++k) expected += s.mean_power[k] * 48000 * 192 / 2 * s.frames;
    CHECK(total == Approx(expected).epsilon(0.03));
    const auto plain = measure(x, 48000, settings, 0, {.cpu = CpuPath::baseline}).summary;
    for (std::size_t t = 0; t < s.tick_power.size(); ++t) {
        for (int band = 0; band < 9; ++band) {
            CHECK(static_cast<double>(plain.tick_power[t][band]) ==
                  Approx(static_cast<double>(s.tick_power[t][band])).epsilon(1e-4));
        }
    }
}
