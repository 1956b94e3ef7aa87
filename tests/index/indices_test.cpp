// Every index on signals that can be solved by hand. Float samples, so that no quantisation blurs
// them.
#include <algorithm>
#include <catch2/catch.hpp>

#include "base/missing.h"
#include "signals.h"

using namespace hearwood;

namespace {

constexpr double kRate = 48000;
constexpr double kWidth = kRate / 512;

/// Frames of 512 samples of one sine on bin k, amplitude by frame.
std::vector<float> tone_by_frame(int k, const std::vector<double>& amplitudes) {
    std::vector<float> x;
    for (const double a : amplitudes) {
        const auto frame = sine(a, k * kWidth, kRate, 512);
        x.insert(x.end(), frame.begin(), frame.end());
    }
    return x;
}

}  // namespace

TEST_CASE("aci of a tone that changes between two amplitudes from frame to frame") {
    // By hand: J frames with a, b, a, b ..: (J - 1) |a - b| / (J (a + b) / 2), the same in each of
    // the tone's three bins, in each of two steps; the third, unfinished step is not used.
    MeasureSettings settings;
    settings.step_s = 10 * 512 / kRate;
    settings.bands = {{"tone", 98.5 * kWidth, 101.5 * kWidth}};
    std::vector<double> amplitudes;
    for (int m = 0; m < 27; ++m) amplitudes.push_back(m % 2 == 0 ? 0.3 : 0.1);
    const auto m = measure(tone_by_frame(100, amplitudes), kRate, settings);
    CHECK(m.summary.step_frames == 10);
    CHECK(m.summary.steps == 2);
    CHECK(m.value.at("aci_tone") == Approx(2 * 3 * 9 * 0.2 / (10 * 0.2)).epsilon(1e-5));
}

TEST_CASE("aci is 0 for a steady tone, missing without a whole step, with J < 2 and in silence") {
    const auto steady = tone_by_frame(100, std::vector<double>(30, 0.5));
    MeasureSettings settings;
    settings.bands = {{"tone", 98.5 * kWidth, 101.5 * kWidth}};
    settings.step_s = 10 * 512 / kRate;
    CHECK(measure(steady, kRate, settings).value.at("aci_tone") == 0);
    settings.step_s = 31 * 512 / kRate;
    CHECK(is_missing(measure(steady, kRate, settings).value.at("aci_tone")));
    CHECK(is_missing(measure(steady, kRate, settings).value.at("aci")));
    settings.step_s = 1.5 * 512 / kRate;
    CHECK(is_missing(measure(steady, kRate, settings).value.at("aci_tone")));
    settings.step_s = 0.5 * 512 / kRate;
    CHECK(is_missing(measure(steady, kRate, settings).value.at("aci_tone")));
    // Silent through both whole steps, loud only in the frames after them: nothing to work on.
    std::vector<double> late(25, 0.0);
    late[24] = 1;
    settings.step_s = 10 * 512 / kRate;
    CHECK(is_missing(measure(tone_by_frame(100, late), kRate, settings).value.at("aci_tone")));
}

TEST_CASE("ndsi of two tones is the ratio of their powers") {
    // By hand: powers 0.3^2 : 0.1^2 -> (0.01 - 0.09) / 0.1 = -0.8.
    const auto x = sine(0.3, 16 * kWidth, kRate, 48000) + sine(0.1, 50 * kWidth, kRate, 48000);
    CHECK(measure(x, kRate).value.at("ndsi") == Approx(-0.8).epsilon(1e-5));
    CHECK(measure(sine(0.3, 50 * kWidth, kRate, 48000), kRate).value.at("ndsi") == Approx(1));
}

TEST_CASE("bi of noise shaped by hand: an impulse every frame is flat, so its area is 0") {
    std::vector<float> x(512 * 20);
    for (std::size_t n = 256; n < x.size(); n += 512) x[n] = 0.5;
    // Rounding of the transform leaves 1e-7 of the amplitude in each of the 64 bins.
    CHECK(measure(x, kRate).value.at("bi") == Approx(0).margin(1e-4));
    // A tone 20 dB above its surroundings adds its bins' levels: 20 dB in the middle, 14 dB beside
    // it, roughly.
    auto with_tone = x;
    const auto tone = sine(0.05, 50 * kWidth, kRate, x.size(), 0.3);
    with_tone = with_tone + tone;
    CHECK(measure(with_tone, kRate).value.at("bi") > 0.093 * 40);
}

TEST_CASE("hf of a flat spectrum is nearly 1, of a tone that of its three bins") {
    std::vector<float> x(512 * 20);
    for (std::size_t n = 256; n < x.size(); n += 512) x[n] = 0.5;
    // K = 254 bins from 200 Hz on, all alike but for the last: N/2 counts once, so its amplitude is
    // half.
    const double total = 253.5;
    const double flat = 253 / total * std::log(total) + 0.5 / total * std::log(2 * total);
    CHECK(measure(x, kRate).value.at("hf") == Approx(flat / std::log(254)).epsilon(1e-6));
    // Amplitudes 1/2 : 1 : 1/2 -> shares 1/4, 1/2, 1/4: entropy 1.5 ln 2; K = 254 bins from 200 Hz
    // on.
    const auto tone = measure(sine(0.5, 100 * kWidth, kRate, 48000), kRate);
    CHECK(tone.value.at("hf") == Approx(1.5 * std::log(2) / std::log(254)).epsilon(1e-3));
}

TEST_CASE("ht of M frames, half of them silent, is ln(M/2) / ln M; h is hf times ht") {
    std::vector<double> amplitudes;
    for (int m = 0; m < 64; ++m) amplitudes.push_back(m % 2);
    const auto m = measure(tone_by_frame(100, amplitudes), kRate);
    CHECK(m.value.at("ht") == Approx(std::log(32) / std::log(64)));
    CHECK(m.value.at("h") == m.value.at("hf") * m.value.at("ht"));
}

TEST_CASE("an even level has the greatest entropy over time, 1, and rounding does not pass it") {
    for (int amplitude = 1; amplitude < 300; ++amplitude) {
        std::vector<std::int16_t> square(64 * 512);
        for (std::size_t n = 0; n < square.size(); ++n)
            square[n] = static_cast<std::int16_t>(n % 8 < 4 ? amplitude : -amplitude);
        const double ht = measure(square, 24000).value.at("ht");
        REQUIRE(ht <= 1);
        REQUIRE(ht == Approx(1).epsilon(1e-6));  // levels are floats
    }
}

TEST_CASE("adi and aei of two equal bands among ten") {
    // By hand: shares p = 1/2, 1/2 -> ln 2; Gini of (q, q, 0 x 8): 2 * 16 q / (2 * 100 * 0.2 q) =
    // 0.8.
    const auto x = sine(0.1, 16 * kWidth, kRate, 51200) + sine(0.1, 70 * kWidth, kRate, 51200);
    const auto m = measure(x, kRate);
    // Band [1,2) kHz holds bins 11..21, [6,7) kHz bins 64..74: 11 bins each, three of them loud.
    CHECK(m.value.at("adi") == Approx(std::log(2)).epsilon(1e-9));
    CHECK(m.value.at("aei") == Approx(0.8).epsilon(1e-9));
    CHECK(m.summary.loud_cells[16] == 100);
    CHECK(m.summary.loud_cells[18] == 0);
}

TEST_CASE("a cell is loud above -50 dBFS, not below") {
    for (const auto& [dbfs, loud] : {std::pair{-49.99, true}, std::pair{-50.01, false}}) {
        for (const int k : {40, 80}) {
            const auto m = measure(sine(std::pow(10, dbfs / 20), k * kWidth, kRate, 5120), kRate);
            CHECK(m.summary.loud_cells[k] == (loud ? 10U : 0U));
        }
    }
}

TEST_CASE("standout of stationary noise is exp(-10^0.6) = 0.0187") {
    // 64 bins x 5625 frames; a frame's neighbours are independent, a bin's are not quite (Hann): 4
    // deviations of a binomial with a third of the cells. At M = 5625 the quantile's own spread
    // adds about 0.0002.
    const auto m = measure(white_noise(0.05, 60 * 48000, 11), kRate);
    CHECK(m.value.at("standout") == Approx(0.0189).margin(0.0016));
    // Gain changes nothing: half, exactly; 40 dB less, but for the width of a cell.
    const auto half = measure(white_noise(0.025, 60 * 48000, 11), kRate);
    CHECK(half.value.at("standout") == m.value.at("standout"));
    const auto soft = measure(white_noise(0.0005, 60 * 48000, 11), kRate);
    CHECK(soft.value.at("standout") == Approx(m.value.at("standout")).margin(1e-4));
}

TEST_CASE("standout of noise with a call in a twentieth of the frames") {
    auto x = white_noise(0.01, 60 * 48000, 12);
    const auto call = sine(0.5, 50 * kWidth, kRate, 60 * 48000);
    for (std::size_t n = 0; n < x.size(); ++n) {
        if (n / 512 % 20 == 0) x[n] += call[n];
    }
    const auto s = measure(x, kRate).summary;
    // In the call's own bin a twentieth of the frames, and of the rest the share of noise.
    CHECK(s.standout_cells[50] / static_cast<double>(s.frames) ==
          Approx(0.05 + 0.95 * 0.0187).margin(0.008));
    CHECK(s.standout_cells[60] / static_cast<double>(s.frames) == Approx(0.0187).margin(0.008));
}

TEST_CASE("bins without background are left out; none left is missing") {
    // A tenth and more of the frames digitally silent: q10 is 0 in every bin.
    auto x = white_noise(0.05, 512 * 100, 13);
    std::fill(x.begin(), x.begin() + 512 * 11, 0.0F);
    CHECK(is_missing(measure(x, kRate).value.at("standout")));
    auto nearly = white_noise(0.05, 512 * 100, 13);
    std::fill(nearly.begin(), nearly.begin() + 512 * 10, 0.0F);
    CHECK(measure(nearly, kRate).value.at("standout") > 0);
}

TEST_CASE("power of a named band is the level of the tone in it") {
    MeasureSettings settings;
    settings.bands = {{"low", 60, 4000}, {"insects", 4000, 12000}};
    const auto x = sine(0.1, 20 * kWidth, kRate, 48000) + sine(1, 100 * kWidth, kRate, 48000);
    const auto m = measure(x, kRate, settings);
    CHECK(m.value.at("power_low_dbfs") == Approx(-20).epsilon(1e-5));
    CHECK(m.value.at("power_insects_dbfs") == Approx(0).margin(1e-4));
}

TEST_CASE("digital silence: everything is missing but offset and clipping, which are 0") {
    MeasureSettings settings;
    settings.bands = {{"insects", 4000, 12000}};
    const auto m = measure(std::vector<std::int16_t>(60 * 48000, 0), kRate, settings, 16);
    for (const auto& [name, value] : m.value) {
        INFO(name);
        if (name == "dc_offset" || name == "clipped_fraction")
            CHECK(value == 0);
        else
            CHECK(is_missing(value));
    }
}

TEST_CASE("half a band is no band: what lies above half the sample rate is missing") {
    MeasureSettings settings;
    settings.bands = {{"insects", 4000, 12000}};
    const auto low = measure(white_noise(0.1, 60 * 8000, 1), 8000, settings);
    for (const char* name :
         {"ndsi", "bi", "standout", "aci_insects", "standout_insects", "power_insects_dbfs"}) {
        INFO(name);
        CHECK(is_missing(low.value.at(name)));
    }
    for (const char* name : {"aci", "hf", "ht", "h", "adi", "aei", "leq_dbfs", "l90_dbfs"}) {
        INFO(name);
        CHECK_FALSE(is_missing(low.value.at(name)));
    }
    CHECK(low.summary.tick_power.empty());
    const auto enough = measure(white_noise(0.1, 60 * 24000, 1), 24000, settings);
    CHECK_FALSE(is_missing(enough.value.at("aci_insects")));
    settings.range_high_hz = 12001;
    CHECK(is_missing(measure(white_noise(0.1, 60 * 24000, 1), 24000, settings).value.at("aci")));
}

TEST_CASE("one frame: what needs two is missing, the rest is there") {
    const auto m = measure(white_noise(0.1, 512, 14), kRate);
    CHECK(m.summary.frames == 1);
    for (const char* name : {"aci", "ht", "h"}) CHECK(is_missing(m.value.at(name)));
    for (const char* name :
         {"ndsi", "bi", "hf", "adi", "aei", "leq_dbfs", "l10_dbfs", "l90_dbfs"}) {
        CHECK_FALSE(is_missing(m.value.at(name)));
    }
    CHECK(m.value.at("standout") == 0);
}

TEST_CASE("levels exceeded during a share of the frames") {
    // Frame m has amplitude 10^(-m/20): level -m dBFS. 100 frames: elements 10, 50 and 90 from loud
    // to soft.
    std::vector<double> amplitudes;
    for (int m = 0; m < 100; ++m) amplitudes.push_back(std::pow(10, -m / 20.0));
    std::reverse(amplitudes.begin() + 20, amplitudes.end());
    const auto m = measure(tone_by_frame(64, amplitudes), kRate);
    CHECK(m.value.at("l10_dbfs") == Approx(-10).epsilon(1e-5));
    CHECK(m.value.at("l50_dbfs") == Approx(-50).epsilon(1e-5));
    CHECK(m.value.at("l90_dbfs") == Approx(-90).epsilon(1e-5));
    CHECK(measure(sine(1, 64 * kWidth, kRate, 48000), kRate).value.at("leq_dbfs") ==
          Approx(0).margin(1e-4));
    // Where the frame in question is silent the level is missing.
    std::vector<double> half(100, 0.0);
    std::fill_n(half.begin(), 30, 1.0);
    const auto quiet = measure(tone_by_frame(64, half), kRate);
    CHECK(quiet.value.at("l10_dbfs") == Approx(0).margin(1e-4));
    CHECK(is_missing(quiet.value.at("l50_dbfs")));
}

TEST_CASE("columns: order, names and kinds follow the catalogue") {
    MeasureSettings settings;
    settings.bands = {{"insects", 4000, 12000}, {"frogs", 500, 3000}};
    std::string names;
    for (const Column& column : index_columns(settings)) {
        names += column.name + " ";
        CHECK_FALSE(column.title.empty());
        CHECK_FALSE(column.meaning.empty());
        CHECK_FALSE(column.source.empty());
        CHECK_FALSE(column.unit.empty());
        CHECK(column.meaning.find("NAME") == std::string::npos);
    }
    CHECK(names ==
          "aci ndsi bi hf ht h adi aei standout events aci_insects standout_insects "
          "power_insects_dbfs "
          "aci_frogs "
          "standout_frogs power_frogs_dbfs leq_dbfs l10_dbfs l50_dbfs l90_dbfs peak_dbfs dc_offset "
          "clipped_fraction ");
    const auto columns = index_columns(settings);
    CHECK(columns[0].kind == Column::Kind::index);
    CHECK(columns[11].kind == Column::Kind::index);
    CHECK(columns[12].depends_on_gain);
    CHECK_FALSE(columns[0].depends_on_gain);
    CHECK(columns[16].kind == Column::Kind::level);
    CHECK(columns.back().kind == Column::Kind::health);
}
