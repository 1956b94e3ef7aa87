// Samples at another rate.
#include "audio/resample.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <vector>

using namespace hearwood;

TEST_CASE("resampling keeps a tone and drops what the lower rate cannot hold", "[listen]") {
    const auto tone = [](double f, double rate) {
        std::vector<float> samples(static_cast<std::size_t>(rate / 2));
        for (std::size_t i = 0; i < samples.size(); ++i)
            samples[i] = static_cast<float>(
                std::sin(2 * std::numbers::pi * f * static_cast<double>(i) / rate));
        return samples;
    };
    const auto largest_difference = [](const std::vector<float>& a, const std::vector<float>& b) {
        REQUIRE(a.size() == b.size());
        REQUIRE(a.size() > 1600);
        double largest = 0;  // away from the ends, where the filter finds nothing beyond
        for (std::size_t i = 400; i + 400 < a.size(); ++i)
            largest = std::max(largest, std::abs(static_cast<double>(a[i]) - b[i]));
        return largest;
    };
    // A Hann-windowed sinc of 16 zero crossings is flat within 1 % well below the band's edge.
    CHECK(largest_difference(resampled(tone(2000, 44100), 44100, 24000), tone(2000, 24000)) < 0.01);
    CHECK(largest_difference(resampled(tone(2000, 96000), 96000, 44100), tone(2000, 44100)) < 0.01);
    CHECK(largest_difference(resampled(tone(900, 2000), 2000, 8000), tone(900, 8000)) < 0.05);
    CHECK(largest_difference(resampled(tone(2000, 16000), 16000, 48000), tone(2000, 48000)) < 0.01);
    const std::vector<float> silence(tone(2000, 24000).size(), 0.0f);
    CHECK(largest_difference(resampled(tone(16000, 48000), 48000, 24000), silence) < 0.01);
}

TEST_CASE("a resampled stretch has the length that its time asks for", "[audio]") {
    const std::vector<float> samples(44100, 0.5f);
    CHECK(resampled(samples, 44100, 48000).size() == 48000);
    CHECK(resampled(samples, 44100, 16000).size() == 16000);
    CHECK(resampled(samples, 44100, 44100) == samples);
    CHECK(resampled({}, 96000, 48000).empty());
    // A constant stays itself away from the ends.
    CHECK(resampled(samples, 44100, 16000)[8000] == Approx(0.5).epsilon(0.001));
}

TEST_CASE("browsers are given 8 to 48 kHz", "[audio]") {
    CHECK(playable_rate(1000) == 8000);
    CHECK(playable_rate(16000) == 16000);
    CHECK(playable_rate(44100) == 44100);
    CHECK(playable_rate(96000) == 48000);
    CHECK(playable_rate(384000) == 48000);
}
