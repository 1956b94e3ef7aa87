// Noise that is made has the background that was asked for, and is the same every time.
#include "activity/noise.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "index/engine/segment_analyser.h"

using namespace hearwood;

namespace {

constexpr double kNone = -std::numeric_limits<double>::infinity();

std::vector<float> stretch(const NoiseBed& bed, std::uint64_t name, std::size_t samples,
                           float factor = 1) {
    std::vector<float> x(samples);
    bed.add(name, 0, factor, x);
    return x;
}

std::vector<float> background_of(const std::vector<float>& x, double rate) {
    SegmentAnalyser analyser({}, rate, {.single_floats = true});
    analyser.begin(0);
    analyser.add(std::span<const float>(x));
    return analyser.finish().sounds.background_db;
}

}  // namespace

TEST_CASE("noise has the background asked for, in every band and at every rate") {
    for (const double rate : {24000.0, 44100.0, 48000.0}) {
        const auto bands = static_cast<std::size_t>(EventGrid(rate).background_bands());
        std::vector<double> wanted(bands);
        for (std::size_t b = 0; b < bands; ++b)
            wanted[b] = -80 - 15 * std::sin(static_cast<double>(b) / 6);
        const auto samples = static_cast<std::size_t>(60 * rate);
        const NoiseBed bed(wanted, rate, static_cast<std::int64_t>(samples), "seed");
        const auto got = background_of(stretch(bed, 12345, samples), rate);
        REQUIRE(got.size() == bands);
        INFO(rate);
        // The quantile of 2,800 frames strays by 0.25 dB a bin, a band has five.
        for (std::size_t b = 1; b + 1 < bands; ++b)
            CHECK(static_cast<double>(got[b]) == Approx(wanted[b]).margin(0.8));
    }
}

TEST_CASE("noise is Gaussian, stationary and without events") {
    const std::vector<double> wanted(48, -70);
    const NoiseBed bed(wanted, 24000, 24000 * 60, "seed");
    const auto x = stretch(bed, 99, 24000 * 60);
    double square = 0, fourth = 0;
    for (const float v : x) {
        square += std::pow(static_cast<double>(v), 2);
        fourth += std::pow(static_cast<double>(v), 4);
    }
    const auto n = static_cast<double>(x.size());
    CHECK(fourth / n / std::pow(square / n, 2) ==
          Approx(3).margin(0.03));  // of a normal distribution
    SegmentAnalyser analyser({}, 24000, {.single_floats = true});
    analyser.begin(0);
    analyser.add(std::span<const float>(x));
    CHECK(analyser.finish().sounds.events.size() <= 2);
}

TEST_CASE("the same seed and name give the same noise, in any pieces, and others others") {
    const std::vector<double> wanted(48, -70);
    const NoiseBed bed(wanted, 24000, 24000, "seed"), again(wanted, 24000, 24000, "seed"),
        other(wanted, 24000, 24000, "other");
    const auto x = stretch(bed, 7, 24000);
    CHECK(stretch(again, 7, 24000) == x);
    CHECK(stretch(other, 7, 24000) != x);
    CHECK(stretch(bed, 8, 24000) != x);
    std::vector<float> pieces(24000);
    for (std::size_t at = 0; at < pieces.size(); at += 777)
        bed.add(7, static_cast<std::int64_t>(at), 1,
                std::span(pieces).subspan(at, std::min<std::size_t>(777, pieces.size() - at)));
    CHECK(pieces == x);
}

TEST_CASE("where nothing is lacking nothing is added") {
    const NoiseBed bed(std::vector<double>(48, kNone), 24000, 24000, "seed");
    CHECK(bed.silent());
    CHECK(stretch(bed, 7, 100) == std::vector<float>(100));
}
