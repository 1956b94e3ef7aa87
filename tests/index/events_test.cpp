// Sound events of signals in which they can be counted by hand.
#include <algorithm>
#include <catch2/catch.hpp>

#include "index/engine/event_finder.h"
#include "index/kept_sounds.h"
#include "index/packed_numbers.h"
#include "signals.h"

using namespace hearwood;

namespace {

/// Noise of a steady background, at -60 dB or so.
std::vector<float> quiet(double rate, double seconds, unsigned seed = 1) {
    return white_noise(1e-3, static_cast<std::size_t>(rate * seconds), seed);
}

/// Adds a tone that glides from one frequency to another, with ends of 5 ms.
void add_chirp(std::vector<float>& x, double rate, double start_s, double length_s, double from_hz,
               double to_hz, double amplitude) {
    double phase = 0;
    const auto first = static_cast<std::size_t>(start_s * rate);
    const auto count = static_cast<std::size_t>(length_s * rate);
    for (std::size_t n = 0; n < count; ++n) {
        const double share = static_cast<double>(n) / static_cast<double>(count);
        phase += 2 * std::numbers::pi * (from_hz + (to_hz - from_hz) * share) / rate;
        const double edge = static_cast<double>(std::min(n, count - n)) / rate / 0.005;
        x[first + n] += static_cast<float>(amplitude * std::min(1.0, edge) * std::sin(phase));
    }
}

std::vector<SoundEvent> events_of(const std::vector<float>& x, double rate) {
    return measure(x, rate).summary.sounds.events;
}

constexpr double kRates[] = {24000, 32000, 44100, 48000, 96000};

}  // namespace

TEST_CASE("the events' frame is 21.3 ms at every rate, of small factors") {
    // By hand: 512 at 24 kHz, 960 at 44.1, 1024 at 48; 682.7 is nearest to 648 = 2^3 3^4 at 32 kHz.
    CHECK(EventGrid(24000).frame() == 512);
    CHECK(EventGrid(44100).frame() == 960);
    CHECK(EventGrid(48000).frame() == 1024);
    CHECK(EventGrid(32000).frame() == 648);
    CHECK(EventGrid(22050).frame() == 480);
    CHECK(EventGrid(96000).frame() == 2048);
    CHECK(EventGrid(20999).bins().count() == 0);
    CHECK(EventGrid(21000).bins().count() > 0);
    CHECK(EventGrid(48000).bins() == BinRange{18, 224});
    CHECK(EventGrid(48000).background_bands() == 96);
    CHECK(EventGrid(44100).background_bands() == 89);
}

TEST_CASE("the median network brings the median to its place") {
    std::mt19937 random(1);
    for (int count = 2; count <= kMostRiseBlock; ++count) {
        const MedianNetwork network = median_network(count);
        for (int repeat = 0; repeat < 50; ++repeat) {
            std::vector<int> values(count);
            for (int& v : values) v = static_cast<int>(random() % 20);
            auto sorted = values;
            std::sort(sorted.begin(), sorted.end());
            for (int n = 0; n < network.count; ++n) {
                const auto [low, high] = network.pairs[n];
                if (values[high] < values[low]) std::swap(values[low], values[high]);
            }
            CHECK(values[count / 2] == sorted[count / 2]);
        }
    }
}

TEST_CASE("bursts well above a steady noise are counted one by one, at every rate") {
    for (const double rate : kRates) {
        auto x = quiet(rate, 30);
        for (int i = 0; i < 20; ++i) add_chirp(x, rate, 1 + 1.4 * i, 0.3, 3000, 3000, 0.02);
        const auto events = events_of(x, rate);
        INFO(rate);
        REQUIRE(events.size() == 20);
        const EventGrid grid(rate);
        for (std::size_t i = 0; i < events.size(); ++i) {
            const double start = events[i].start * grid.frame_s();
            CHECK(start == Approx(1 + 1.4 * static_cast<double>(i)).margin(0.045));
            CHECK(events[i].duration * grid.frame_s() == Approx(0.3).margin(0.09));
            CHECK(grid.edge_hz(events[i].low) < 3000);
            CHECK(grid.edge_hz(events[i].high + 1) > 3000);
            // The mean over 3 x 3 cells of a tone on no bin's centre: 20 log10 0.02 = -34 dBFS less
            // 10 log10 of 3 for the bins, of which the Hann window fills one and two halves.
            CHECK(static_cast<double>(events[i].peak_db) == Approx(-37).margin(1.5));
        }
        CHECK(measure(x, rate).value.at("events") == Approx(40));
    }
}

TEST_CASE("chirps that cross are their arms, chirps at two heights are two") {
    // Where they meet, a rising and a falling chirp beat against each other, and the block of 1 kHz
    // that both fill is whitened by itself: what is left are the four arms.
    auto crossing = quiet(48000, 20);
    add_chirp(crossing, 48000, 5, 0.5, 2000, 5000, 0.02);
    add_chirp(crossing, 48000, 5, 0.5, 5000, 2000, 0.02);
    CHECK(events_of(crossing, 48000).size() == 4);
    auto apart = quiet(48000, 20);
    add_chirp(apart, 48000, 5, 0.5, 2000, 2500, 0.02);
    add_chirp(apart, 48000, 5, 0.5, 6000, 5000, 0.02);
    const auto events = events_of(apart, 48000);
    REQUIRE(events.size() == 2);
    CHECK(events[0].high < events[1].low);
}

TEST_CASE("what lifts everything at once is no event: gusts, showers, clicks") {
    auto gusts = quiet(48000, 30);
    const auto gust = white_noise(2e-2, 48000, 3);
    for (const std::size_t at : {4U, 11U, 19U})
        for (std::size_t n = 0; n < gust.size(); ++n) gusts[at * 48000 + n] += gust[n];
    CHECK(events_of(gusts, 48000).empty());
    auto clicks = quiet(48000, 30);
    for (std::size_t n = 24000; n < clicks.size(); n += 9600) clicks[n] += 0.8F;
    CHECK(events_of(clicks, 48000).empty());
    // A call inside a gust that does not reach above it is lost, one that does is counted.
    add_chirp(gusts, 48000, 11.3, 0.3, 3000, 3000, 0.2);
    CHECK(events_of(gusts, 48000).size() == 1);
}

TEST_CASE("too short, and a texture without end, are no events") {
    auto brief = quiet(48000, 30);
    for (int i = 0; i < 10; ++i) add_chirp(brief, 48000, 1 + 2.5 * i, 0.012, 3000, 3000, 0.01);
    CHECK(events_of(brief, 48000).empty());
    const auto endless = quiet(48000, 30) + sine(0.02, 3000, 48000, 48000 * 30);
    CHECK(events_of(endless, 48000).empty());
    // Steady noise alone: at most a handful of cells' chance meetings.
    CHECK(events_of(quiet(48000, 60, 9), 48000).size() <= 2);
}

TEST_CASE("events are missing where they cannot be heard, 0 where nothing calls") {
    CHECK(std::isnan(measure(quiet(16000, 10), 16000).value.at("events")));
    CHECK(std::isnan(measure(std::vector<float>(48000, 0.0F), 48000).value.at("events")));
    CHECK(std::isnan(measure(white_noise(0.1, 700, 1), 48000).value.at("events")));
    CHECK(measure(quiet(48000, 20, 4), 48000).value.at("events") == Approx(0).margin(6.1));
}

TEST_CASE("the background of white noise is its power a bin, in every band") {
    for (const double rate : {16000.0, 24000.0, 44100.0, 48000.0}) {
        const auto m = measure(white_noise(0.01, static_cast<std::size_t>(60 * rate), 2), rate);
        const EventGrid grid(rate);
        // By hand: mean |X|^2 = s^2 sum(w^2) = s^2 3N/8; A = 2 |X| / (N/2), so E = 6 s^2 / N.
        const double expected = 10 * std::log10(6 * 1e-4 / grid.frame());
        REQUIRE(m.summary.sounds.background_db.size() ==
                static_cast<std::size_t>(grid.background_bands()));
        // A tenth quantile of 2,800 values strays by 6 % a bin; 5 bins make a band.
        for (std::size_t b = 1; b + 1 < m.summary.sounds.background_db.size(); ++b)
            CHECK(static_cast<double>(m.summary.sounds.background_db[b]) ==
                  Approx(expected).margin(0.6));
    }
}

TEST_CASE(
    "events do not depend on blocks, on the path within its tolerance, or on the survey's "
    "own frames") {
    auto x = quiet(24000, 40);
    for (int i = 0; i < 30; ++i)
        add_chirp(x, 24000, 1 + 1.2 * i, 0.2, 2000 + 150 * i, 2400 + 150 * i, 0.02);
    const auto codes = as_int16(x);
    const auto shared = measure(codes, 24000, {}, 16).summary.sounds.events;
    CHECK(shared.size() == 30);
    MeasureSettings other;
    other.frame = other.hop = 256;
    const auto own = measure(codes, 24000, other, 16).summary.sounds.events;
    // A transform of its own sums in another order: peaks agree to single precision.
    REQUIRE(own.size() == shared.size());
    for (std::size_t i = 0; i < own.size(); ++i) {
        CHECK(own[i].start == shared[i].start);
        CHECK(own[i].duration == shared[i].duration);
        CHECK(own[i].low == shared[i].low);
        CHECK(own[i].high == shared[i].high);
        CHECK(static_cast<double>(own[i].peak_db) ==
              Approx(static_cast<double>(shared[i].peak_db)).margin(1e-4));
    }
    SegmentAnalyser analyser(other, 24000);
    analyser.begin(16);
    for (std::size_t at = 0; at < codes.size(); at += 777)
        analyser.add(std::span(codes).subspan(at, std::min<std::size_t>(777, codes.size() - at)));
    CHECK(analyser.finish().sounds.events == own);
    const auto baseline = measure(codes, 24000, {}, 16, {CpuPath::baseline}).summary.sounds.events;
    CHECK(baseline.size() == shared.size());
}

TEST_CASE("kept sounds read back as they were, to half a decibel and a hundredth") {
    auto x = quiet(48000, 20);
    for (int i = 0; i < 12; ++i) add_chirp(x, 48000, 1 + 1.5 * i, 0.3, 1500, 1500 + 400 * i, 0.02);
    const SegmentSounds sounds = measure(x, 48000).summary.sounds;
    const std::string bytes = encode(sounds);
    const SegmentSounds back = decode_sounds(bytes);
    CHECK(back.listened);
    REQUIRE(back.events.size() == sounds.events.size());
    for (std::size_t i = 0; i < back.events.size(); ++i) {
        CHECK(back.events[i].start == sounds.events[i].start);
        CHECK(back.events[i].duration == sounds.events[i].duration);
        CHECK(back.events[i].low == sounds.events[i].low);
        CHECK(back.events[i].high == sounds.events[i].high);
        CHECK(std::abs(back.events[i].peak_db - sounds.events[i].peak_db) < 0.0051F);
    }
    REQUIRE(back.background_db.size() == sounds.background_db.size());
    for (std::size_t b = 0; b < back.background_db.size(); ++b)
        CHECK(std::abs(back.background_db[b] - sounds.background_db[b]) < 0.2501F);
    CHECK(encode(back) == bytes);
    for (std::size_t length = 0; length < bytes.size(); ++length)
        CHECK_THROWS(decode_sounds(std::string_view(bytes).substr(0, length)));
    const SegmentSounds silent = measure(std::vector<float>(48000, 0.0F), 48000).summary.sounds;
    CHECK(!decode_sounds(encode(silent)).listened);
}

TEST_CASE("kept sounds are the bytes that docs/measures.md describes, of both versions") {
    SegmentSounds sounds;
    sounds.listened = true;
    sounds.background_db = {-100.5F, -100.0F};  // codes 100 and 101
    sounds.events = {{3, 4, 20, 22, -30.25F}, {7, 9, 21, 22, -30.25F}};
    // By hand. Band steps 100, 1: least 1, folded 2, plus one 3 = "0 1" and "1", k = 5 = 10100,
    // 99 = 3 x 32 + 3: "0001" "11000", 0: "1" "00000".
    // Start 3, 4: least 3, folded 6, 7 = "00 1" "11", k = 0 = 00000; 0 "1", 1 "01". Duration 4, 9:
    // 9 = "0001" "001", k = 1 = 10000; 0: "1" "0", 5: "001" "1". Lowest 20, 21: 41 = "000001"
    // "01001", 00000, "1" "01". Extent 2, 1: least 1: "01" "1", 00000, "01" "1". Peak -3025 twice:
    // folded 6049, 6050 = 4096 + 1954: "0000000000001" "011110100010", 00000, "1" "1".
    const std::string bits =
        "011"
        "10100"
        "000111000"
        "100000"
        "00111"
        "00000"
        "101"
        "0001001"
        "10000"
        "100011"
        "00000101001"
        "00000"
        "101"
        "011"
        "00000"
        "011"
        "0000000000001011110100010"
        "00000"
        "11";
    std::string expected("\x02\x01\x02\x00\x02", 5);
    for (std::size_t at = 0; at < bits.size(); at += 8) {
        unsigned byte = 0;
        for (std::size_t i = at; i < std::min(at + 8, bits.size()); ++i)
            byte |= (bits[i] == '1' ? 1U : 0U) << (i - at);
        expected += static_cast<char>(byte);
    }
    CHECK(encode(sounds) == expected);
    const std::string first(
        "\x01\x01\x02\x00\x64\x65\x02\x03\x04\x14\x02\x2f\xf4\x04\x09\x15\x01\x2f\xf4", 19);
    for (const std::string& bytes : {expected, first}) {
        const SegmentSounds back = decode_sounds(bytes);
        CHECK(back.listened);
        CHECK(back.background_db == sounds.background_db);
        CHECK(back.events == sounds.events);
    }
}

TEST_CASE("columns of any numbers are packed and read back; no bytes are read past their end") {
    std::mt19937 random(3);
    constexpr auto kLeast = std::numeric_limits<std::int32_t>::min(),
                   kMost = std::numeric_limits<std::int32_t>::max();
    std::vector<std::vector<std::int32_t>> columns{
        {0}, {kLeast}, {kMost}, {-1, 1}, {kMost - 9, kMost}};
    for (int repeat = 0; repeat < 200; ++repeat) {
        auto& column = columns.emplace_back(1 + random() % 60);
        const unsigned span = 1U << random() % 20;
        for (auto& v : column)
            v = static_cast<std::int32_t>(random() % span) - static_cast<std::int32_t>(span / 3);
    }
    std::string bytes;
    NumberPacker out(bytes);
    for (const auto& column : columns) out.column(column);
    out.finish();
    NumberUnpacker in(bytes);
    std::vector<std::int32_t> back;
    for (const auto& column : columns) {
        in.column(column.size(), back);
        CHECK(back == column);
    }
    CHECK(in.left() < 8);
    for (int repeat = 0; repeat < 2000; ++repeat) {  // any bytes give numbers or an error
        std::string noise(random() % 20, 0);
        for (char& c : noise) c = static_cast<char>(random());
        NumberUnpacker any(noise);
        try {
            any.column(1 + random() % 9, back);
        } catch (const std::out_of_range&) {
        }
    }
}
