// One pass over a segment: scaling, frames, blocks, sample types, processors.
#include <catch2/catch.hpp>
#include <cstdlib>
#include <cstring>
#include <limits>
#include <string_view>

#include "base/missing.h"
#include "signals.h"

using namespace hearwood;

namespace {

void check_same_bits(const SegmentSummary& a, const SegmentSummary& b) {
    CHECK(a.frames == b.frames);
    CHECK(a.mean_power == b.mean_power);
    CHECK(a.mean_amplitude == b.mean_amplitude);
    CHECK(a.aci_ratio == b.aci_ratio);
    CHECK(a.step_amplitude == b.step_amplitude);
    CHECK(a.loud_cells == b.loud_cells);
    CHECK(a.standout_cells == b.standout_cells);
    CHECK(a.has_background == b.has_background);
    CHECK(a.frame_mean_square == b.frame_mean_square);
    CHECK(a.tick_power == b.tick_power);
    CHECK(a.mean_square == b.mean_square);
    CHECK(a.mean == b.mean);
    CHECK(a.peak == b.peak);
    CHECK(a.clipped == b.clipped);
}

/// Handed over in blocks of random lengths up to `most`.
template <typename T>
const SegmentSummary& in_blocks(SegmentAnalyser& analyser, const std::vector<T>& x, int bits,
                                int most) {
    std::mt19937 random(9);
    analyser.begin(bits);
    for (std::size_t at = 0; at < x.size();) {
        const std::size_t count = std::min<std::size_t>(1 + random() % most, x.size() - at);
        analyser.add(std::span<const T>(x.data() + at, count));
        at += count;
    }
    return analyser.finish();
}

const std::vector<std::pair<int, int>> kFramesAndHops{{512, 512}, {512, 256},  {400, 130},
                                                      {130, 200}, {1024, 300}, {16, 16}};

}  // namespace

TEST_CASE("a full-scale sine on a bin centre has amplitude 1 and the power of its square") {
    // By hand: mean square 1/2; the Hann window spreads the density's integral over three bins,
    // 1:4:1.
    for (const double rate : {8000.0, 16000.0, 44100.0, 48000.0, 96000.0, 192000.0}) {
        const int k = 100;
        const double df = rate / 512;
        const auto m = measure(sine(1, k * df, rate, static_cast<std::size_t>(rate)), rate);
        const SegmentSummary& s = m.summary;
        CHECK(s.mean_amplitude[k] == Approx(1).epsilon(1e-5));
        CHECK(s.mean_amplitude[k - 1] == Approx(0.5).epsilon(1e-5));
        CHECK((s.mean_power[k - 1] + s.mean_power[k] + s.mean_power[k + 1]) * df ==
              Approx(0.5).epsilon(1e-5));
        CHECK(s.mean_power[k] == Approx(4 * s.mean_power[k + 1]).epsilon(1e-4));
        CHECK(m.value.at("peak_dbfs") == Approx(0).margin(1e-3));
    }
}

TEST_CASE("the bins 0 and N/2 count once") {
    // x = 0.25 + 0.5 (-1)^n: amplitude 0.25 at 0 Hz, 0.5 at fs/2.
    std::vector<float> x(48000);
    for (std::size_t n = 0; n < x.size(); ++n) x[n] = n % 2 == 0 ? 0.75F : -0.25F;
    const SegmentSummary s = measure(x, 48000).summary;
    CHECK(s.mean_amplitude[0] == Approx(0.25));
    CHECK(s.mean_amplitude[256] == Approx(0.5));
    CHECK(s.mean == Approx(0.25));
    CHECK(s.mean_square == Approx(0.0625 + 0.25));
    CHECK(s.has_background[0] == 0);
    CHECK(s.has_background[256] == 0);
}

TEST_CASE("frames: as many as fit, none across the end, the rest counts for the levels") {
    for (const auto& [frame, hop] : kFramesAndHops) {
        MeasureSettings settings;
        settings.frame = frame;
        settings.hop = hop;
        for (const int samples : {frame, frame + hop - 1, frame + hop, 10 * frame + 3, 4800}) {
            std::vector<float> x = white_noise(0.1, samples, 1);
            x.back() = 2;
            const SegmentSummary s = measure(x, 48000, settings).summary;
            CHECK(s.frames == (samples - frame) / hop + 1);
            CHECK(s.samples == samples);
            CHECK(s.peak == 2);
            double sum = 0, squares = 0;
            for (const float v : x)
                sum += static_cast<double>(v),
                    squares += static_cast<double>(v) * static_cast<double>(v);
            CHECK(s.mean == Approx(sum / samples).margin(1e-7));
            CHECK(s.mean_square == Approx(squares / samples));
            for (int m = 0; m < s.frames; ++m) {
                double of_frame = 0;
                for (int n = 0; n < frame; ++n)
                    of_frame += std::pow(static_cast<double>(x[m * hop + n]), 2);
                if (s.frame_mean_square[m] != Approx(of_frame / frame))
                    FAIL("frame " << m << " of " << frame << "/" << hop);
            }
        }
    }
}

TEST_CASE("a segment shorter than a frame has no frames and only missing values") {
    const auto m = measure(white_noise(0.1, 511, 1), 48000);
    CHECK(m.summary.frames == 0);
    for (const double v : m.row) CHECK(is_missing(v));
}

TEST_CASE("results do not depend on how samples are cut into blocks, to the bit") {
    const auto floats = white_noise(0.1, 48000, 2) + sine(0.5, 3000, 48000, 48000);
    const auto codes = as_int16(floats);
    for (const auto& [frame, hop] : kFramesAndHops) {
        MeasureSettings settings;
        settings.frame = frame;
        settings.hop = hop;
        settings.step_s = 0.13;
        const SegmentSummary whole_codes = measure(codes, 48000, settings, 16).summary;
        const SegmentSummary whole_floats = measure(floats, 48000, settings).summary;
        SegmentAnalyser analyser(settings, 48000);
        for (const int most : {1, 7, 600, 5000}) {
            check_same_bits(whole_codes, in_blocks(analyser, codes, 16, most));
            check_same_bits(whole_floats, in_blocks(analyser, floats, 0, most));
        }
    }
}

TEST_CASE("a segment's numbers do not depend on what was measured before") {
    const auto x = white_noise(0.1, 20000, 3);
    const SegmentSummary fresh = measure(x, 48000).summary;
    SegmentAnalyser analyser(MeasureSettings{}, 48000);
    analyser.begin(0);
    std::vector<float> bad(70000, std::numeric_limits<float>::quiet_NaN());
    analyser.add(std::span<const float>(bad));
    CHECK_FALSE(analyser.finish().finite);
    analyser.begin(0);
    analyser.add(std::span<const float>(x));
    check_same_bits(fresh, analyser.finish());
}

TEST_CASE("the same samples give the same numbers in every type that holds them") {
    const auto codes = as_int16(white_noise(0.2, 30000, 4));
    std::vector<std::int32_t> wide;
    std::vector<float> floats;
    std::vector<double> doubles;
    for (const std::int16_t code : codes) {
        wide.push_back(code * 65536);
        floats.push_back(static_cast<float>(code) / 32768);
        doubles.push_back(code / 32768.0);
    }
    MeasureSettings settings;
    settings.step_s = 0.1;
    settings.bands = {{"insects", 4000, 12000}};
    const auto expected = measure(wide, 48000, settings, 16);
    check_same_bits(expected.summary, measure(floats, 48000, settings, 16).summary);
    check_same_bits(expected.summary, measure(doubles, 48000, settings, 16).summary);
    // 16 bits go through single precision, wider types through double.
    const auto single = measure(codes, 48000, settings, 16);
    for (const auto& [name, value] : expected.value) {
        INFO(name);
        const double margin = name.starts_with("standout") ? 1e-4 : 1e-7;
        CHECK(single.value.at(name) == Approx(value).epsilon(1e-5).margin(margin));
    }
    CHECK(single.summary.loud_cells == expected.summary.loud_cells);
    CHECK(single.summary.clipped == expected.summary.clipped);
    CHECK(single.summary.peak == expected.summary.peak);
}

TEST_CASE("an analyser may turn from one type to another between segments") {
    const auto codes = as_int16(white_noise(0.2, 30000, 4));
    const auto floats = white_noise(0.1, 30000, 5);
    std::vector<std::int32_t> wide(codes.begin(), codes.end());
    for (auto& code : wide) code *= 65536;
    SegmentAnalyser analyser(MeasureSettings{}, 48000);
    for (int repeat = 0; repeat < 2; ++repeat) {
        analyser.begin(0);
        analyser.add(std::span<const float>(floats));
        check_same_bits(analyser.finish(), measure(floats, 48000).summary);
        analyser.begin(16);
        analyser.add(std::span<const std::int16_t>(codes));
        check_same_bits(analyser.finish(), measure(codes, 48000, {}, 16).summary);
        analyser.begin(24);
        analyser.add(std::span<const std::int32_t>(wide));
        check_same_bits(analyser.finish(), measure(wide, 48000, {}, 24).summary);
    }
}

TEST_CASE("what lies far below the loudest sound is measured where the samples hold it") {
    // A loud low tone and, 170 dB below it, a soft high one, as a computed signal may have: single
    // precision would drown the second in rounding. By hand: amplitudes 0.5 and 0.5 * 10^-8.5.
    std::vector<double> x(48000);
    for (std::size_t n = 0; n < x.size(); ++n) {
        const double turns = static_cast<double>(n) / 512;
        x[n] =
            0.5 * std::sin(2 * std::numbers::pi * std::fmod(10 * turns, 1)) +
            0.5 * std::pow(10, -8.5) * std::sin(2 * std::numbers::pi * std::fmod(200 * turns, 1));
    }
    const SegmentSummary s = measure(x, 48000).summary;
    CHECK(s.mean_amplitude[200] == Approx(0.5 * std::pow(10, -8.5)).epsilon(1e-5));
    CHECK(s.mean_amplitude[203] < 1e-14);
}

TEST_CASE("a channel is taken out of interleaved samples") {
    const auto left = as_int16(white_noise(0.1, 20000, 5)),
               right = as_int16(sine(0.5, 4000, 48000, 20000));
    std::vector<std::int16_t> both;
    for (std::size_t n = 0; n < left.size(); ++n) both.insert(both.end(), {left[n], right[n], 0});
    const auto expected = measure(right, 48000, {}, 16).summary;
    SegmentAnalyser analyser(MeasureSettings{}, 48000);
    analyser.begin(16);
    analyser.add_channel(std::span<const std::int16_t>(both), 3, 1);
    check_same_bits(expected, analyser.finish());
}

TEST_CASE("both ways of compiling give the same numbers within single precision") {
    for (const auto& [frame, hop] : kFramesAndHops) {
        MeasureSettings settings;
        settings.frame = frame;
        settings.hop = hop;
        settings.bands = {{"insects", 4000, 12000}};
        const auto x = white_noise(0.01, 480000, 6) + sine(0.1, 3100, 48000, 480000);
        const auto best = measure(x, 48000, settings);
        const auto plain = measure(x, 48000, settings, 0, {.cpu = CpuPath::baseline});
        for (const auto& [name, value] : best.value) {
            INFO(name << " at frame " << frame << ", hop " << hop);
            const bool counted = name.starts_with("standout");
            if (is_missing(value))
                CHECK(is_missing(plain.value.at(name)));
            else
                CHECK(plain.value.at(name) ==
                      Approx(value).epsilon(1e-5).margin(counted ? 1e-4 : 1e-7));
        }
    }
}

TEST_CASE("the widest vectors give the bits of the narrower ones") {
    // Frames of every remainder of groups and of samples that vectors of 512 bits can leave.
    auto shapes = std::vector<std::pair<int, int>>(kFramesAndHops.begin(), kFramesAndHops.end());
    for (int frame = 16; frame <= 128; frame += 2) shapes.emplace_back(frame, frame);
    const auto x = white_noise(0.01, 60001, 6) + sine(0.1, 3100, 24000, 60001);
    for (const auto& [frame, hop] : shapes) {
        MeasureSettings settings;
        settings.frame = frame;
        settings.hop = hop;
        INFO("frame " << frame << ", hop " << hop);
        for (const bool floats : {false, true}) {
            const AnalyserOptions narrow{CpuPath::narrow, true}, wide{CpuPath::best, true};
            const auto codes = as_int16(x);
            const auto a = floats ? measure(x, 24000, settings, 0, narrow).summary
                                  : measure(codes, 24000, settings, 16, narrow).summary;
            const auto b = floats ? measure(x, 24000, settings, 0, wide).summary
                                  : measure(codes, 24000, settings, 16, wide).summary;
            check_same_bits(a, b);
            CHECK(a.sounds.events == b.sounds.events);
            CHECK(a.sounds.background_db == b.sounds.background_db);
        }
    }
}

TEST_CASE("the processor's path has a name, and the environment can ask for the plain one") {
    const char* wish = std::getenv("HEARWOOD_CPU");
    const std::string path = cpu_path();
    bool able = false;
#if defined(__x86_64__)
    able = __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma") &&
           __builtin_cpu_supports("bmi") && __builtin_cpu_supports("bmi2");
#endif
    const bool plain = wish && std::string_view(wish) == "baseline";
    CHECK(path == (able && !plain ? "x86-64-v3" : "baseline"));
}

TEST_CASE("NaN, infinity and absurd samples spoil a segment and say so") {
    for (const float bad :
         {std::numeric_limits<float>::quiet_NaN(), -std::numeric_limits<float>::quiet_NaN(),
          std::numeric_limits<float>::infinity(), -std::numeric_limits<float>::infinity(), 1e20F}) {
        for (const std::size_t at : {std::size_t{0}, std::size_t{25000}, std::size_t{29999}}) {
            auto x = white_noise(0.1, 30000, 7);
            x[at] = bad;
            const auto m = measure(x, 48000);
            CHECK_FALSE(m.summary.finite);
            for (const double v : m.row) CHECK(is_missing(v));
        }
    }
    CHECK(measure(white_noise(0.1, 30000, 7), 48000).summary.finite);
}

TEST_CASE("settings that no survey file can hold are refused") {
    MeasureSettings odd;
    odd.frame = 511;
    CHECK_THROWS_AS(SegmentAnalyser(odd, 48000), std::invalid_argument);
    MeasureSettings standing;
    standing.hop = 0;
    CHECK_THROWS_AS(SegmentAnalyser(standing, 48000), std::invalid_argument);
    CHECK_THROWS_AS(SegmentAnalyser(MeasureSettings{}, 0), std::invalid_argument);
}
