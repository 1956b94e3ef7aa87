// Known tones stand at their row and column, with the colour that the key gives their level.
#include "picture/spectrogram.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>
#include <set>
#include <string>

#include "base/error.h"
#include "picture/axes.h"
#include "picture/font.h"

using namespace hearwood;

namespace {

constexpr double kRate = 24'000;

std::vector<float> tone(double hz, double amplitude, double seconds, double rate = kRate) {
    std::vector<float> samples(static_cast<std::size_t>(std::lround(seconds * rate)));
    for (std::size_t n = 0; n < samples.size(); ++n)
        samples[n] = static_cast<float>(
            amplitude * std::sin(2 * std::numbers::pi * hz * static_cast<double>(n) / rate));
    return samples;
}

int brightest_row(const Image& image, const PlotArea& plot, int column) {
    int best = plot.y;
    for (int y = plot.y; y < plot.y + plot.height; ++y)
        if (to_oklab(image.at(plot.x + column, y)).L > to_oklab(image.at(plot.x + column, best)).L)
            best = y;
    return best;
}

double frequency_of(const PlotArea& plot, int y) {
    const double share = (plot.y + plot.height - y - 0.5) / plot.height;
    return plot.low_hz + share * (plot.high_hz - plot.low_hz);
}

Image draw(const std::vector<float>& samples, SpectrogramOptions options, PlotArea& plot,
           double rate = kRate) {
    SpectrogramPainter painter(rate, static_cast<std::int64_t>(samples.size()), options);
    painter.add(samples);
    Image image = painter.finish();
    plot = painter.plot();
    return image;
}

}  // namespace

TEST_CASE("a tone stands at its frequency, whatever the picture's size") {
    const double hz = GENERATE(750.0, 3000.0, 9000.0);
    const int height = GENERATE(120, 420, 900);
    SpectrogramOptions options;
    options.height = height;
    options.width = 500;
    PlotArea plot;
    const Image image = draw(tone(hz, 0.5, 2), options, plot);
    // Half a bin (23 Hz) and half a row is as near as a picture can tell.
    const double tolerance = kRate / 512 / 2 + (plot.high_hz - plot.low_hz) / plot.height / 2;
    for (const int column : {5, plot.width / 2, plot.width - 6})
        CHECK(frequency_of(plot, brightest_row(image, plot, column)) ==
              Approx(hz).margin(tolerance + 1));
}

TEST_CASE(
    "a full-scale tone on a bin's centre has the colour of 0 dBFS, a tenth of it that of -20") {
    const double amplitude = GENERATE(1.0, 0.1);
    SpectrogramOptions options;
    options.axes = false;
    options.width = 64;
    options.height = 257;  // a row a bin
    options.floor_db = -80;
    options.ceiling_db = 20;
    PlotArea plot;
    const Image image = draw(tone(64 * kRate / 512, amplitude, 1), options, plot);
    const double level = 20 * std::log10(amplitude);
    const double t = (level + 80) / 100;
    const Colour seen = image.at(32, brightest_row(image, plot, 32));
    // 200 colours over 100 dB: half a decibel a colour.
    const double step = to_oklab(sequence_colour(t + 0.005)).L - to_oklab(sequence_colour(t)).L;
    CHECK(to_oklab(seen).L == Approx(to_oklab(sequence_colour(t)).L).margin(step + 0.003));
}

TEST_CASE("a tone that begins and ends is drawn there, and the axis says when") {
    std::vector<float> samples(static_cast<std::size_t>(10 * kRate), 0.0f);
    const auto burst = tone(4000, 0.5, 2);
    std::copy(burst.begin(), burst.end(), samples.begin() + static_cast<long>(3 * kRate));
    SpectrogramOptions options;
    options.start_s = 100;
    PlotArea plot;
    const Image image = draw(samples, options, plot);
    CHECK(plot.from_s == 100);
    CHECK(plot.to_s == Approx(110));
    const int row =
        plot.y + plot.height - 1 - static_cast<int>(4000 / (plot.high_hz / plot.height));
    const auto lit = [&](double seconds) {
        const int column = static_cast<int>((seconds - 100) / 10 * plot.width);
        return to_oklab(image.at(plot.x + column, row)).L > 0.6;
    };
    CHECK_FALSE(lit(102.8));
    CHECK(lit(103.2));
    CHECK(lit(104.8));
    CHECK_FALSE(lit(105.2));
}

TEST_CASE("the picture does not depend on the blocks in which samples come") {
    const auto samples = tone(1234, 0.3, 3.3);
    SpectrogramOptions options;
    options.width = 300;
    const Image whole = draw_spectrogram(samples, kRate, options);
    SpectrogramPainter painter(kRate, static_cast<std::int64_t>(samples.size()), options);
    for (std::size_t n = 0; n < samples.size(); n += 997)
        painter.add(std::span(samples).subspan(n, std::min<std::size_t>(997, samples.size() - n)));
    CHECK(painter.finish().pixels == whole.pixels);
}

TEST_CASE("samples that never come are silence, samples too many are left out") {
    const auto samples = tone(2000, 0.5, 1);
    SpectrogramOptions options;
    options.floor_db = -100;
    options.ceiling_db = 0;
    SpectrogramPainter painter(kRate, 2 * static_cast<std::int64_t>(samples.size()), options);
    painter.add(samples);
    const Image image = painter.finish();
    const PlotArea& plot = painter.plot();
    CHECK(image.at(plot.x + plot.width - 2, plot.y + 5) == sequence_colour(0));
    SpectrogramPainter full(kRate, 1000, options);
    CHECK_NOTHROW(full.add(samples));
    CHECK_NOTHROW(full.finish());
}

TEST_CASE("bands and marks are drawn where they belong") {
    SpectrogramOptions options;
    options.width = 600;
    options.bands = {{"insects", 4000, 8000}};
    options.marks = {{0, 1, true, ""}, {1, 2, false, "rain"}};
    PlotArea plot;
    const Image image = draw(tone(1000, 0.1, 2), options, plot);
    const auto row = [&](double hz) {
        return plot.y + plot.height - 1 - static_cast<int>(hz / plot.high_hz * plot.height);
    };
    CHECK(image.at(plot.x, row(4000)) == kPaper);
    CHECK(image.at(plot.x + 1, row(8000)) == kPaper);
    // The bar above the plot: filled over the kept second, striped over the excluded one.
    int first = 0, second = 0;
    for (int y = plot.y - 8; y < plot.y - 2; ++y)
        for (int x = 0; x < plot.width / 2; ++x) {
            first += image.at(plot.x + x, y) == kInk;
            second += image.at(plot.x + plot.width / 2 + x, y) == kInk;
        }
    CHECK(2 * first > 3 * second);
    CHECK(second > 0);
}

TEST_CASE("pictures that cannot be drawn are refused with the fix") {
    const std::vector<float> samples(1000, 0.1f);
    SpectrogramOptions options;
    options.width = 0;
    CHECK_THROWS_AS(draw_spectrogram(samples, kRate, options), InputError);
    options.width = 60;
    CHECK_THROWS_AS(draw_spectrogram(samples, kRate, options), InputError);
    options = {};
    options.frame = 511;
    CHECK_THROWS_AS(draw_spectrogram(samples, kRate, options), InputError);
    options = {};
    options.high_hz = 13'000;
    CHECK_THROWS_AS(draw_spectrogram(samples, kRate, options), InputError);
    CHECK_THROWS_AS(draw_spectrogram({}, kRate, {}), InputError);
    options = {};
    options.floor_db = -10;
    options.ceiling_db = -10;
    CHECK_THROWS_AS(draw_spectrogram(samples, kRate, options), InputError);
}

TEST_CASE("ticks stand at round values with no more digits than needed") {
    const auto labels = [](const std::vector<Tick>& ticks) {
        std::vector<std::string> result;
        for (const Tick& tick : ticks) result.push_back(tick.label);
        return result;
    };
    using Labels = std::vector<std::string>;
    CHECK(labels(round_ticks(0, 12, 6)) == Labels{"0", "2", "4", "6", "8", "10", "12"});
    CHECK(labels(round_ticks(-0.2, 0.5, 4)) == Labels{"-0.2", "0.0", "0.2", "0.4"});
    CHECK(labels(time_ticks(0, 60, 6)) == Labels{"0", "10", "20", "30", "40", "50", "60"});
    CHECK(labels(time_ticks(3540, 3720, 3)) == Labels{"59:00", "1:00:00", "1:01:00", "1:02:00"});
    CHECK(round_ticks(3, 3, 5).empty());
}

TEST_CASE(
    "edges of letters are as soft as the palette allows, and letters end at the picture's edge") {
    Image hard(40, 14, {kPaper, kInk}), soft(40, 14, picture_palette(20));
    draw_text(hard, 1, 3, "soft", kInkIndex);
    draw_text(soft, 1, 3, "soft", kInkIndex);
    const std::set<std::uint8_t> used(soft.pixels.begin(), soft.pixels.end());
    CHECK(used.size() > 4);
    for (const std::uint8_t index : used)
        CHECK((index <= kInkIndex || soft.palette[index].red > kInk.red));
    Image small(5, 4, {kPaper, kInk});
    draw_text(small, -3, -3, "WWWW", kInkIndex, 2);
    CHECK(std::count(small.pixels.begin(), small.pixels.end(), kInkIndex) > 0);
}

TEST_CASE("letters are drawn where asked, unknown ones as a question mark") {
    Image one(60, 12, {kPaper, kInk}), other(60, 12, {kPaper, kInk});
    draw_text(one, 1, 1, "\u00e9\u2212b\u6797\xff", 1);
    draw_text(other, 1, 1, "\u00e9\u2212b??", 1);
    CHECK(one.pixels == other.pixels);
    CHECK(text_width("\u2212\u2212") == 2 * text_width("\u2212"));
    // Figures are of one width, so that labels of an axis stand in line.
    for (const char figure : std::string("0123456789"))
        CHECK(text_width(std::string(1, figure)) == kLetterWidth);
    int ink = 0;
    for (const auto pixel : one.pixels) ink += pixel;
    CHECK(ink > 20);
}
