// The quantities of Gaussian noise and of sounds whose values can be reasoned out, from ticks
// computed by the program's own analyser. The Gaussian values follow from the definitions in
// docs/screens.md: independent bands have var(k) = 7/4, no memory; the ratio of two independent
// Rayleigh variables is 2 - sqrt 2.
#include "screen/quantities.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <random>
#include <set>
#include <string>

#include "base/missing.h"
#include "index/engine/segment_analyser.h"
#include "screen/blocks.h"
#include "screen/rhythm.h"

using namespace hearwood;

namespace {

constexpr double kPi = std::numbers::pi;

std::vector<float> noise(int rate, double seconds, double deviation = 0.05) {
    std::mt19937 random(static_cast<unsigned>(rate));
    std::normal_distribution<float> normal(0.0f, static_cast<float>(deviation));
    std::vector<float> samples(static_cast<std::size_t>(rate * seconds));
    for (float& sample : samples) sample = normal(random);
    return samples;
}

SegmentSummary summary_of(const std::vector<float>& samples, int rate,
                          const MeasureSettings& settings = {}) {
    SegmentAnalyser analyser(settings, rate);
    analyser.begin(0);
    analyser.add(std::span<const float>(samples));
    return analyser.finish();
}

Quantities measured(const std::vector<float>& samples, int rate) {
    return quantities_of(summary_of(samples, rate));
}

/// 30 dB down where `open` says no.
template <typename Open>
Quantities gated(Open open) {
    const int rate = 24000;
    std::vector<float> samples = noise(rate, 60);
    for (std::size_t i = 0; i < samples.size(); ++i)
        if (!open(i)) samples[i] *= 0.0316f;
    return measured(samples, rate);
}

Quantities tones(std::initializer_list<double> frequencies, double noise_deviation) {
    const int rate = 24000;
    std::vector<float> samples = noise(rate, 60, noise_deviation);
    for (std::size_t i = 0; i < samples.size(); ++i)
        for (const double f : frequencies)
            samples[i] +=
                static_cast<float>(0.1 * std::sin(2 * kPi * f * static_cast<double>(i) / rate));
    return measured(samples, rate);
}

}  // namespace

TEST_CASE("Gaussian noise has the values that the definitions give it", "[screen]") {
    const int rate = GENERATE(16000, 24000, 32000, 44100, 48000, 96000);
    CAPTURE(rate);
    const Quantities q = measured(noise(rate, 60), rate);
    // Few bins a band share their leakage at 96 kHz, which ties neighbouring bands a little.
    CHECK(q.patter == Approx(rate == 96000 ? 1.04 : 1.01).margin(0.06));
    CHECK(q.memory < 0.05);
    CHECK(q.tail == Approx(-0.02).margin(0.06));
    CHECK(q.crackle ==
          Approx(1).margin(0.03));  // 0.99 and a difference fewer than frames in a step
    CHECK(q.lines == Approx(0.99).margin(0.04));
    CHECK(q.tilt ==
          Approx(0).margin(0.3));  // a median of few bins lies under the mean: up to 0.15 dB
    CHECK(q.throb < 0.13);
    CHECK(q.gust == Approx(0.5).margin(0.25));
    // Some 19 independent cells a tenth of a second (190 Hz), fewer for the window's overlap of
    // bins and the samples it hides: the median change of their mean is about 4.1 dB / sqrt(12).
    CHECK(q.flicker == Approx(1.2).margin(0.3));
    CHECK(q.slope == Approx(0).margin(0.06));
    CHECK(q.drops == Approx(0.95).margin(0.1));
    CHECK(q.hum < 0.02);    // what is left of 1.5 % of sampling error a bin
    CHECK(q.whine < 0.06);  // the three luckiest of up to 80 bins
    CHECK(q.flatness_db == Approx(0).margin(0.02));
    CHECK(q.silent_share == 0);
    CHECK(q.rain_score < 0);
    CHECK(q.engine_score < 0);
}

TEST_CASE("the level above 200 Hz of white noise is its share of the whole", "[screen]") {
    const Quantities q = measured(noise(24000, 20, 0.05), 24000);
    const double whole = 10 * std::log10(2 * 0.05 * 0.05);
    CHECK(q.air_dbfs == Approx(whole + 10 * std::log10(11800.0 / 12000)).margin(0.05));
}

TEST_CASE("noise gated frame by frame patters without memory", "[screen]") {
    std::mt19937 random(5);
    std::vector<bool> open(60 * 24000 / 512 + 1);
    for (std::size_t i = 0; i < open.size(); ++i) open[i] = random() % 2 == 0;
    const Quantities q = gated([&](std::size_t i) { return open[i / 512]; });
    CHECK(q.patter ==
          Approx(5.4).margin(0.3));  // 7 less what the fluctuation inside either state takes
    CHECK(q.memory < 0.04);
    CHECK(q.drops > 4.5);
}

TEST_CASE("noise gated at 10 Hz has memory and throb, hence no drops", "[screen]") {
    const Quantities q = gated([](std::size_t i) { return i % 2400 < 1200; });
    CHECK(q.patter == Approx(6.3).margin(0.2));
    CHECK(q.memory == Approx(0.59).margin(0.03));
    CHECK(q.throb == Approx(0.79).margin(0.05));
    CHECK(q.drops == 0);
}

TEST_CASE("a steady tone stills its band", "[screen]") {
    CHECK(tones({330}, 1e-6).lines < 0.03);
    CHECK(tones({210, 300, 390, 480}, 1e-6).lines == Approx(0.12).margin(0.03));
    // Tones that stand out of noise still their own two or three bins, not those around.
    const Quantities q = tones({97, 1250}, 0.02);
    CHECK(q.whine > 0.3);
    CHECK(q.hum > 0.05);
    CHECK(q.crackle > 0.8);
    // A tone that outweighs its band holds the level still, whether or not its bin can be parted.
    CHECK(tones({97}, 0.005).flicker < 0.3);
}

TEST_CASE("a low tone over noise makes a hump, a lower one none", "[screen]") {
    // 281.25 Hz is bin 6, alone in its bins but for the two beside it. There the sine has
    // |X|^2 = (A N / 4)^2, noise of variance s^2 has 3 N s^2 / 8; the rule asks for 10 dB on top.
    const double above_noise = 10 * std::log10(0.1 * 0.1 * 512 / 6 / (0.005 * 0.005));
    CHECK(tones({281.25}, 0.005).hump == Approx(above_noise - 10).margin(0.2));
    CHECK(tones({93.75, 281.25}, 0.005).hump == Approx(0).margin(0.1));
    // Bin 2 alone: half of its amplitude stands in bin 3, above 140 Hz.
    CHECK(tones({93.75}, 0.005).hump == Approx(-6.02).margin(0.1));
    // Bins of 187.5 Hz: none lies in [60, 120) Hz, and an engine is looked for without a hump.
    const Quantities coarse = measured(noise(96000, 60), 96000);
    CHECK(is_missing(coarse.hump));
    CHECK(coarse.engine_score < 0);
}

TEST_CASE("the slope of summed noise is 6 dB an octave, that of a flat spectrum 0", "[screen]") {
    // A sum's power goes as 1 / (4 sin^2(pi f / fs)): within 0.4 dB of 1 / f^2 up to 4 kHz.
    const int rate = 24000;
    std::vector<float> samples = noise(rate, 60, 0.001);
    float sum = 0;
    for (float& sample : samples) sample = sum = 0.999f * sum + sample;
    const Quantities brown = measured(samples, rate);
    CHECK(brown.slope == Approx(-6.02).margin(0.2));
    CHECK(brown.engine_score < 0);
}

TEST_CASE("the quantities do not depend on the gain", "[screen]") {
    std::vector<float> samples = noise(24000, 20);
    const std::vector<double> loud = quantity_values(summary_of(samples, 24000));
    for (float& sample : samples) sample *= 0.0625f;  // a power of two: not even rounding differs
    const std::vector<double> soft = quantity_values(summary_of(samples, 24000));
    const std::vector<Column> columns = quantity_columns();
    for (std::size_t i = 0; i < columns.size(); ++i) {
        CAPTURE(columns[i].name);
        const double shift = columns[i].depends_on_gain ? 20 * std::log10(0.0625) : 0;
        CHECK(soft[i] - loud[i] == Approx(shift).margin(1e-6));
    }
}

TEST_CASE("what cannot be measured is missing", "[screen]") {
    const Quantities slow = measured(noise(8000, 20), 8000);  // no band up to 8 kHz
    CHECK(is_missing(slow.patter));
    CHECK(is_missing(slow.rain_score));
    CHECK(std::isfinite(slow.air_dbfs));

    const Quantities silent = measured(std::vector<float>(24000 * 20, 0.0f), 24000);
    CHECK(is_missing(silent.air_dbfs));
    CHECK(is_missing(silent.engine_score));
    CHECK(silent.silent_share == 1);

    std::vector<float> broken = noise(24000, 20);
    broken[100] = std::nanf("");
    CHECK(is_missing(measured(broken, 24000).silent_share));

    const Quantities brief = measured(noise(24000, 0.05), 24000);
    CHECK(is_missing(brief.patter));
}

TEST_CASE("columns and values run in parallel and have unique names", "[screen]") {
    SegmentSummary summary;
    const std::vector<Column> columns = quantity_columns();
    CHECK(quantity_values(summary).size() == columns.size());
    std::set<std::string> names;
    for (const Column& column : columns) {
        CHECK(column.kind == Column::Kind::quantity);
        CHECK(!column.meaning.empty());
        names.insert(column.name);
    }
    CHECK(names.size() == columns.size());
}

TEST_CASE("ranks by counting agree with a hand-counted block", "[screen]") {
    // Four ticks; in each band one tick is above the median's middle pair twice. Band b rises with
    // the tick.
    std::vector<Tick> ticks(4);
    for (int m = 0; m < 4; ++m)
        for (int b = 0; b < 9; ++b) ticks[m][b] = static_cast<float>(b == 6 ? 4 - m : m + 1);
    RankedBlocks blocks = rank_blocks(ticks, 4);
    CHECK(blocks.above == std::vector<std::uint8_t>{1, 1, 6, 6});
    // Median of 1, 2, 3, 4 in decibels: sqrt(2 * 3); six bands agree on each tick.
    CHECK(blocks.rise[0] == Approx(1 / std::sqrt(6.0)));
    CHECK(blocks.rise[3] == Approx(4 / std::sqrt(6.0)));
    CHECK(patter_of(blocks) == Approx(6.25 / 1.75));  // k = 1, 1, 6, 6: variance 6.25
}

TEST_CASE("a block in which a band is silent is left out, and no other", "[screen]") {
    // Three blocks of four ticks; in the middle one a band holds nothing on three ticks, so that
    // its median is 0.
    std::vector<Tick> ticks(12);
    for (int m = 0; m < 12; ++m)
        for (int b = 0; b < 9; ++b) ticks[m][b] = static_cast<float>(m % 4 + 1);
    const std::vector<std::uint8_t> two{0, 0, 7, 7, 0, 0, 7, 7};
    for (int band = 0; band < kHighBands; ++band) {
        CAPTURE(band);
        std::vector<Tick> broken = ticks;
        for (int m = 4; m < 7; ++m) broken[m][band] = 0;
        const RankedBlocks blocks = rank_blocks(broken, 4);
        CHECK(blocks.above == two);
        CHECK(blocks.rise.size() == two.size());
    }
    // The low bands do not count.
    for (Tick& tick : ticks) tick[7] = tick[8] = 0;
    CHECK(rank_blocks(ticks, 4).above.size() == 12);
    for (Tick& tick : ticks) tick.fill(0);
    CHECK(is_missing(patter_of(rank_blocks(ticks, 4))));
}

TEST_CASE("ties lie on the median, not above it", "[screen]") {
    std::vector<Tick> ticks(5);
    for (Tick& tick : ticks) tick.fill(2);
    const RankedBlocks blocks = rank_blocks(ticks, 5);
    CHECK(blocks.above == std::vector<std::uint8_t>(5, 0));
    CHECK(blocks.rise[2] == Approx(1));
}

TEST_CASE("quantiles in decibels lie between the order statistics", "[screen]") {
    const auto [low, middle, high] =
        quantiles_db<3>(std::vector<float>{100, 1, 10, 1000}, {0.1, 0.5, 1});
    CHECK(low == Approx(3));
    CHECK(middle == Approx(15));
    CHECK(high == Approx(30));
}

TEST_CASE("frames too long to tell a drop from a wave leave the weather unknown", "[screen]") {
    // 65,536 samples are 2 s at 32 kHz: no second, and no tenth of one, holds a tick.
    const int rate = 32000;
    MeasureSettings settings;
    settings.frame = settings.hop = 65536;
    const Quantities blind = quantities_of(summary_of(noise(rate, 60), rate, settings));
    for (const double value : {blind.patter, blind.gust, blind.flicker, blind.throb, blind.rumble,
                               blind.rain_score, blind.engine_score})
        CHECK(is_missing(value));
    CHECK(blind.flatness_db > -1);         // what needs no ticks is still there
    settings.frame = settings.hop = 3200;  // 0.1 s
    const Quantities coarse = quantities_of(summary_of(noise(rate, 60), rate, settings));
    CHECK(coarse.rain_score < 0);
    CHECK(coarse.engine_score < 0);
}
