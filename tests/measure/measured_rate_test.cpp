// Measuring at a lower rate by decision. A tone below both half rates must be as loud, one above
// the new half rate must be gone: the sampling theorem, no figure of ours.
#include "measure/measured_rate.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <numbers>

#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;

namespace {

void tone(const fs::path& path, double hz, int rate, double seconds, double level = 0.25) {
    WaveWriter::Options options;
    options.sample_rate = rate;
    WaveWriter writer(path, options);
    std::vector<std::int16_t> samples(static_cast<std::size_t>(seconds * rate));
    for (std::size_t i = 0; i < samples.size(); ++i)
        samples[i] = static_cast<std::int16_t>(std::lround(
            32767 *
            std::clamp(level * std::sin(2 * std::numbers::pi * hz * static_cast<double>(i) / rate),
                       -1.0, 1.0)));
    writer.write(samples);
    writer.close();
}

/// Every sample that the reader gives of these frames.
std::vector<double> read(const fs::path& path, int rate, std::int64_t first, std::int64_t count,
                         std::int64_t most) {
    auto opened = open_audio(path);
    OpenRecording recording(path, std::move(std::get<AudioFile>(opened)));
    std::vector<double> samples;
    Losses losses;
    ResampledReader reader(rate);
    const std::int64_t got = reader.read(
        recording, first, count, most, [](const void*, std::size_t) { return true; },
        [](std::span<const double>) {},
        [&](std::span<const double> block) {
            samples.insert(samples.end(), block.begin(), block.end());
        },
        losses);
    CHECK(got == count);
    return samples;
}

double value(const Store& store, const std::string& path, const std::string& column, int segment) {
    const auto row = store.find(path);
    const std::vector<std::string> columns = store.settings()->columns;
    const auto place = std::find(columns.begin(), columns.end(), column) - columns.begin();
    double found = std::nan("");
    store.for_each_segment_of(row->id, [&](const SegmentRow& s) {
        if (s.segment == segment) found = s.values[static_cast<std::size_t>(place)];
    });
    return found;
}

}  // namespace

TEST_CASE("samples at a lower rate stand where they stood, whatever segment asks for them") {
    const TemporaryFolder folder;
    const fs::path path = folder.path() / "tone.wav";
    for (const auto& [from, to] : {std::pair{48'000, 24'000}, {44'100, 24'000}, {32'000, 22'050}}) {
        CAPTURE(from, to);
        tone(path, 3000, from, 4);
        const std::int64_t first = from;  // the second from 1 s on
        const std::vector<double> samples = read(path, to, first, from, to);
        REQUIRE(samples.size() == static_cast<std::size_t>(to));
        double worst = 0;
        for (std::size_t i = 0; i < samples.size(); ++i) {
            const double t = 1 + static_cast<double>(i) / to;
            worst = std::max(
                worst, std::abs(samples[i] - 0.25 * std::sin(2 * std::numbers::pi * 3000 * t)));
        }
        CHECK(worst < 3e-5);  // the file's own steps are 1 / 32768
    }
}

TEST_CASE("a decided rate is measured, comes off again, and needs a lower rate than the file's") {
    SurveyOnDisk survey;
    tone(survey.recordings("D1") / "A_20310504_050000.wav", 3000, 48'000, 6);
    tone(survey.recordings("D2") / "B_20310504_050000.wav", 18'000, 48'000, 6);
    tone(survey.recordings("D3") / "C_20310504_050000.wav", 3000, 24'000, 6);
    survey.measure();
    const std::string before = all_of(survey);
    survey.write("decisions.csv",
                 "decision,subject,value,reason\nsample_rate,D1,24000,as the others\n"
                 "sample_rate,D2,24000,as the others\n");
    CHECK(survey.measure().measured == 2);
    {
        const Store store = Store::open_read_only(survey.folder());
        const std::string a = "recordings/D1/A_20310504_050000.wav";
        const auto row = store.find(a);
        CHECK(row->sample_rate == 48'000);
        CHECK(store.count_segments_of(row->id) == 3);
        // Away from where the tone begins and ends, which is no tone.
        for (const char* column : {"leq_dbfs", "peak_dbfs"}) {
            CAPTURE(column);
            CHECK(value(store, a, column, 1) ==
                  Approx(value(store, "recordings/D3/C_20310504_050000.wav", column, 1))
                      .margin(0.01));
        }
        // What lies above 12 kHz is gone: down to the file's own steps.
        CHECK(value(store, "recordings/D2/B_20310504_050000.wav", "leq_dbfs", 1) < -90);
    }
    CHECK(survey.measure().measured == 0);
    survey.write("decisions.csv", "decision,subject,value,reason\n");
    CHECK(survey.measure().measured == 2);
    CHECK(all_of(survey) == before);
    survey.write("decisions.csv",
                 "decision,subject,value,reason\nsample_rate,D3,48000,by mistake\n");
    CHECK(survey.measure().unusable == 1);
    CHECK(Store::open_read_only(survey.folder())
              .find("recordings/D3/C_20310504_050000.wav")
              ->reason ==
          "it has 24000 Hz, and a decision says to measure it at 48000 Hz: a rate "
          "can only be lowered");
}

TEST_CASE("what was cut off at full scale is counted in the file's own samples") {
    SurveyOnDisk survey;
    tone(survey.recordings("D1") / "A_20310504_050000.wav", 1000, 48'000, 2, 3.0);
    survey.measure();
    const std::string path = "recordings/D1/A_20310504_050000.wav";
    const double own = value(Store::open_read_only(survey.folder()), path, "clipped_fraction", 0);
    CHECK(own > 0.5);
    survey.write("decisions.csv", "decision,subject,value,reason\nsample_rate,D1,24000,x\n");
    survey.measure();
    CHECK(value(Store::open_read_only(survey.folder()), path, "clipped_fraction", 0) == own);
}
