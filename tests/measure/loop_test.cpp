// The loop over a survey's recordings, in this process.
#include <catch2/catch.hpp>
#include <cstring>
#include <limits>

#include "base/interrupt.h"
#include "base/missing.h"
#include "measure/recording_worker.h"
#include "measure/segment_layout.h"
#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;

namespace {

/// Values to the last bit, missing ones as nothing.
std::string texts(const std::vector<double>& values) {
    std::string text;
    for (const double value : values) text += format_number(value) + " ";
    return text;
}

}  // namespace

// docs/measures.md, section 1: the last, shorter segment counts if it holds at least one frame.
TEST_CASE("segments of a recording by its length") {
    CHECK(SegmentLayout{100, 10, 4}.count() == 10);
    CHECK(SegmentLayout{103, 10, 4}.count() == 10);
    CHECK(SegmentLayout{104, 10, 4}.count() == 11);
    CHECK(SegmentLayout{3, 10, 4}.count() == 0);
    CHECK(SegmentLayout{104, 10, 4}.samples(9) == 10);
    CHECK(SegmentLayout{104, 10, 4}.samples(10) == 4);
}

TEST_CASE("every channel of every segment is measured once") {
    SurveyOnDisk survey;
    survey.fill();
    const MeasureSummary summary = survey.measure();
    CHECK(summary.found == 5);
    CHECK(summary.measured == 5);
    CHECK(summary.unusable == 0);
    // 5 s, 4 s, 7.9 s stereo, 6 s with three channels, 3 s; segments of 2 s.
    CHECK(summary.segments == 3 + 2 + 4 * 2 + 3 * 3 + 2);
    CHECK(summary.audio_s == Approx(5 + 4 + 7.9 + 6 + 3));
    const Store store = Store::open_read_only(survey.folder());
    CHECK(store.count_segments() == summary.segments);
    CHECK(store.note("program_version") != "");
    const auto row = store.find("recordings/D2/B_20310504_050000.wav");
    REQUIRE(row);
    CHECK(row->state == RecordingState::measured);
    CHECK(row->channels == 2);
    CHECK(row->deployment == "D2");
    CHECK(format_local(*row->start) == "2031-05-04T05:00:00");
    int incomplete = 0;
    store.for_each_segment_of(row->id, [&](const SegmentRow& segment) {
        CHECK(segment.first_sample == segment.segment * 48'000);
        CHECK(segment.samples == (segment.segment == 3 ? 45'600 : 48'000));
        incomplete += !segment.complete;
        CHECK_FALSE(is_missing(segment.values[0]));
        CHECK_FALSE(store.spectrum(row->id, segment.channel, segment.segment).empty());
    });
    CHECK(incomplete == 2);
}

TEST_CASE("the channels of a recording are kept apart") {
    SurveyOnDisk survey;
    // A stereo file whose left channel is one mono file and whose right is another.
    const auto left = sound(96'000, 1), right = sound(96'000, 2);
    std::vector<std::int16_t> both;
    for (std::size_t i = 0; i < left.size(); ++i)
        both.insert(both.end(), {left[i], right[i], left[i]});
    const auto put = [&](const char* name, int channels, const std::vector<std::int16_t>& samples) {
        WaveWriter::Options options;
        options.sample_rate = 24'000;
        options.channels = channels;
        WaveWriter writer(survey.recordings("D1") / name, options);
        writer.write(samples);
        writer.close();
    };
    put("L_20310504_050000.wav", 1, left);
    put("R_20310504_050000.wav", 1, right);
    put("X_20310504_050000.wav", 3, both);
    survey.measure();
    const Store store = Store::open_read_only(survey.folder());
    const auto values = [&](const char* name, int channel) {
        std::string text;
        store.for_each_segment_of(store.find(std::string("recordings/D1/") + name)->id,
                                  [&](const SegmentRow& s) {
                                      if (s.channel != channel) return;
                                      for (const double v : s.values)
                                          text += format_number(v) + " ";
                                  });
        return text;
    };
    REQUIRE_FALSE(values("L_20310504_050000.wav", 0).empty());
    REQUIRE_FALSE(values("R_20310504_050000.wav", 0).empty());
    CHECK(values("X_20310504_050000.wav", 0) == values("L_20310504_050000.wav", 0));
    CHECK(values("X_20310504_050000.wav", 1) == values("R_20310504_050000.wav", 0));
    CHECK(values("X_20310504_050000.wav", 2) == values("L_20310504_050000.wav", 0));
}

TEST_CASE("a second run finds nothing to do and changes nothing") {
    SurveyOnDisk survey;
    survey.fill();
    survey.measure();
    const std::string before = all_of(survey);
    const MeasureSummary again = survey.measure();
    CHECK(again.measured == 0);
    CHECK(again.to_do == 0);
    CHECK(again.unchanged == 5);
    CHECK(all_of(survey) == before);
}

TEST_CASE("any number of threads gives the same bytes, also where a long recording is cut") {
    SurveyOnDisk one, many;
    for (const SurveyOnDisk* survey : {&one, &many}) {
        survey->fill();
        survey->settings("segment_s = 60\n");
        // 26 MB: long enough to be cut into pieces.
        survey->wave("D1", "L_20310505_050000.wav", 285.3, 9, 1, 48'000);
    }
    one.measure();
    MeasureOptions four;
    four.jobs = 4;
    CHECK(many.measure(four).segments == 5 + 1 + 1 + 2 + 3 + 1);
    CHECK(all_of(one) == all_of(many));
}

TEST_CASE("a changed file is measured again, a vanished one is kept and listed as gone") {
    SurveyOnDisk survey;
    survey.fill();
    survey.measure();
    survey.wave("D1", "A_20310504_050000.wav", 9.0, 77);
    fs::remove(survey.recordings("D4") / "D_20310504_050000.wav");
    const MeasureSummary summary = survey.measure();
    CHECK(summary.measured == 1);
    CHECK(summary.gone == 1);
    {
        const Store store = Store::open_read_only(survey.folder());
        const auto changed = store.find("recordings/D1/A_20310504_050000.wav");
        CHECK(store.count_segments_of(changed->id) == 5);
        const auto gone = store.find("recordings/D4/D_20310504_050000.wav");
        CHECK(gone->gone);
        CHECK(gone->state == RecordingState::measured);
        CHECK(store.count_segments_of(gone->id) == 2);
    }
    survey.wave("D4", "D_20310504_050000.wav", 3.0, 5);
    survey.measure();
    CHECK_FALSE(
        Store::open_read_only(survey.folder()).find("recordings/D4/D_20310504_050000.wav")->gone);
}

TEST_CASE("a file that moved is known by its content and keeps its results") {
    SurveyOnDisk survey;
    survey.fill();
    MeasureOptions with_hash;
    with_hash.hash = true;
    survey.measure(with_hash);
    const fs::path from = survey.recordings("D4") / "D_20310504_050000.wav";
    const fs::path to = survey.recordings("D2") / "moved_20310504_050000.wav";
    const std::int64_t id =
        Store::open_read_only(survey.folder()).find("recordings/D4/D_20310504_050000.wav")->id;
    fs::rename(from, to);
    const MeasureSummary summary = survey.measure();
    CHECK(summary.to_do == 0);
    {
        const Store store = Store::open_read_only(survey.folder());
        CHECK_FALSE(store.find("recordings/D4/D_20310504_050000.wav"));
        const auto moved = store.find("recordings/D2/moved_20310504_050000.wav");
        REQUIRE(moved);
        CHECK(moved->id == id);
        CHECK(moved->deployment == "D2");
        CHECK_FALSE(moved->gone);
        CHECK(store.count_segments_of(id) == 2);
        CHECK(store.count_recordings() == 5);
    }
    CHECK(survey.measure().gone == 0);
}

TEST_CASE("a folder that is not there makes no recording a ghost") {
    SurveyOnDisk survey;
    survey.fill();
    survey.measure();
    fs::rename(survey.recordings("D1"), survey.folder() / "unplugged");
    CHECK(survey.measure().gone == 0);
    CHECK_FALSE(
        Store::open_read_only(survey.folder()).find("recordings/D1/A_20310504_050000.wav")->gone);
}

TEST_CASE("other settings make all results stale and are told in words") {
    SurveyOnDisk survey;
    survey.fill();
    survey.measure();
    const auto before = Store::open_read_only(survey.folder()).settings();
    survey.settings("segment_s = 2\nstep_s = 1\nframe = 1024\n",
                    "[bands]\ninsects = [4000, 9000]\n");
    const MeasureSummary summary = survey.measure();
    CHECK(summary.measured == 5);
    CHECK(summary.stale_segments == 24);
    const auto now = Store::open_read_only(survey.folder()).settings();
    CHECK(now->hash != before->hash);
    CHECK(settings_difference(*before, *now) ==
          "frame 512 -> 1024, hop 512 -> 1024, band insects [4000, 9000] new");
    CHECK(now->columns.size() == before->columns.size() + 3);
    // A fresh survey under the new settings says the same.
    SurveyOnDisk fresh;
    fresh.fill();
    fresh.settings("segment_s = 2\nstep_s = 1\nframe = 1024\n",
                   "[bands]\ninsects = [4000, 9000]\n");
    fresh.measure();
    CHECK(all_of(survey) == all_of(fresh));
}

TEST_CASE("an unusable recording is listed with its reason and the others are measured") {
    SurveyOnDisk survey;
    survey.fill();
    const fs::path folder = survey.recordings("D1");
    std::ofstream(folder / "empty_20310504_070000.wav");
    std::ofstream(folder / "text_20310504_070000.wav") << "this is no sound\n";
    survey.wave("D1", "no time.wav", 4, 6);
    survey.wave("D1", "short_20310504_070000.wav", 0.01, 6);
    fs::create_directory(folder / "folder_20310504_070000.wav");
    const fs::path cut = survey.wave("D1", "cut_20310504_080000.wav", 6, 6);
    fs::resize_file(cut, fs::file_size(cut) - 24'000);
    const std::string odd_name = "odd \"name\"\n\xff_20310504_090000.wav";
    survey.wave("D1", odd_name, 2, 6);

    const MeasureSummary summary = survey.measure();
    CHECK(summary.unusable == 6);
    const Store store = Store::open_read_only(survey.folder());
    const auto state = [&](const std::string& name) {
        const auto row = store.find(name_to_utf8("recordings/D1/" + name));
        return row ? std::string(word(row->state)) + (row->reason.empty() ? "" : " why") : "absent";
    };
    CHECK(state("empty_20310504_070000.wav") == "unreadable why");
    CHECK(state("text_20310504_070000.wav") == "unreadable why");
    CHECK(state("no time.wav") == "no start time why");
    CHECK(state("short_20310504_070000.wav") == "unreadable why");
    CHECK(state("folder_20310504_070000.wav") == "unreadable why");
    CHECK(state("cut_20310504_080000.wav") == "damaged why");
    CHECK(state(odd_name) == "measured");
    const auto row = store.find("recordings/D1/cut_20310504_080000.wav");
    CHECK(store.count_segments_of(row->id) == 3);
    CHECK(row->lost_s == Approx(0.5));
    // They are not opened again, and still told of.
    const std::string before = all_of(survey);
    const MeasureSummary again = survey.measure();
    CHECK(again.to_do == 0);
    CHECK(again.unusable == 6);
    CHECK(all_of(survey) == before);
}

TEST_CASE("samples that are no numbers spoil their own segment only") {
    SurveyOnDisk survey;
    // A WAV file of 32-bit floats (format tag 3), written by hand.
    const auto put = [&](const std::string& name, bool spoil) {
        std::string bytes = "RIFF....WAVEfmt ";
        const auto number = [&](std::uint32_t value, int size) {
            for (int i = 0; i < size; ++i) bytes += static_cast<char>(value >> 8 * i & 0xff);
        };
        number(16, 4), number(3, 2), number(1, 2), number(24'000, 4), number(96'000, 4);
        number(4, 2), number(32, 2);
        const auto samples = sound(24'000 * 6, 4);
        bytes += "data";
        number(static_cast<std::uint32_t>(samples.size() * 4), 4);
        for (std::size_t i = 0; i < samples.size(); ++i) {
            float value = static_cast<float>(samples[i]) / 32768;
            if (spoil && i == 60'000) value = std::numeric_limits<float>::quiet_NaN();
            std::uint32_t code;
            std::memcpy(&code, &value, 4);
            number(code, 4);
        }
        const auto size = static_cast<std::uint32_t>(bytes.size() - 8);
        std::memcpy(bytes.data() + 4, &size, 4);
        write_whole_file(survey.recordings("D1") / name, bytes);
    };
    put("W_20310504_050000.wav", false);
    put("N_20310504_050000.wav", true);
    survey.measure();
    const Store store = Store::open_read_only(survey.folder());
    const auto spoilt = store.find("recordings/D1/N_20310504_050000.wav");
    const auto well = store.find("recordings/D1/W_20310504_050000.wav");
    CHECK(well->state == RecordingState::measured);
    CHECK(spoilt->state == RecordingState::damaged);
    CHECK(spoilt->spoilt_segments == 1);
    std::vector<std::string> rows[2];
    store.for_each_segment_of(well->id,
                              [&](const SegmentRow& s) { rows[0].push_back(texts(s.values)); });
    store.for_each_segment_of(spoilt->id,
                              [&](const SegmentRow& s) { rows[1].push_back(texts(s.values)); });
    REQUIRE(rows[0].size() == 3);
    REQUIRE(rows[1].size() == 3);
    CHECK(rows[0][0] == rows[1][0]);
    CHECK(rows[1][1].find_first_not_of(' ') == std::string::npos);  // all missing
    CHECK(rows[0][2] == rows[1][2]);
}

TEST_CASE("a pattern for file names that comes later brings the left-out recordings in") {
    SurveyOnDisk survey;
    survey.fill();
    survey.wave("D1", "at 2031-05-04 07h30.wav", 2, 8);
    CHECK(survey.measure().unusable == 1);
    survey.settings("segment_s = 2\nstep_s = 1\n", "[names]\nstart_time = \"at %Y-%m-%d %Hh%M\"\n");
    Survey loaded = survey.load();
    INFO("pattern in force: " << loaded.start_time_pattern);
    const MeasureSummary summary = survey.measure();
    const Store store = Store::open_read_only(survey.folder());
    const auto row = store.find("recordings/D1/at 2031-05-04 07h30.wav");
    REQUIRE(row);
    CHECK(row->state == RecordingState::measured);
    // The own pattern alone counts: the others have lost their start, and their results with it.
    CHECK(summary.unusable == 5);
    CHECK(store.count_segments() == 1);
}

TEST_CASE("an interrupted run keeps what is done and the next one completes it") {
    SurveyOnDisk survey, whole;
    survey.fill();
    whole.fill();
    whole.measure();
    set_interrupted(true);
    const MeasureSummary stopped = survey.measure();
    set_interrupted(false);
    CHECK(stopped.interrupted);
    CHECK(stopped.segments == 0);
    const MeasureSummary rest = survey.measure();
    CHECK_FALSE(rest.interrupted);
    CHECK(all_of(survey) == all_of(whole));
}

TEST_CASE("a recording of which only the first segments are stored is completed, not doubled") {
    SurveyOnDisk survey;
    survey.fill();
    survey.measure();
    const std::string whole = all_of(survey);
    {
        // As an interrupted run leaves it: pending, with the rows of two of four segments.
        Store store = survey.open();
        auto row = *store.find("recordings/D2/B_20310504_050000.wav");
        std::vector<MeasuredSegment> kept;
        store.for_each_segment_of(row.id, [&](const SegmentRow& segment) {
            if (segment.segment < 2)
                kept.push_back(
                    {segment, store.spectrum(row.id, segment.channel, segment.segment), {}});
        });
        store.begin();
        row.state = RecordingState::pending;
        store.put(row);
        store.delete_results(row.id);
        store.append(row.id, kept);
        store.commit();
    }
    const MeasureSummary summary = survey.measure();
    CHECK(summary.measured == 1);
    CHECK(summary.segments == 4);  // two segments of two channels
    CHECK(all_of(survey) == whole);
}

TEST_CASE("one copied file measured by itself gives the rows of the loop") {
    SurveyOnDisk survey;
    survey.fill();
    survey.measure();
    const Store store = Store::open_read_only(survey.folder());
    const auto stored = store.find("recordings/D2/B_20310504_050000.wav");
    RecordingRow row;
    row.deployment = "D2";
    row.path = stored->path;
    row.size = stored->size;
    row.mtime_ns = stored->mtime_ns;
    std::vector<MeasuredSegment> rows;
    // As offload does with what it has just copied.
    const Survey loaded = survey.load();
    const RecordingFacts facts(loaded, measuring_settings(loaded.measure).hash);
    RecordingWorker worker(loaded.measure, facts, false);
    worker.measure_whole(survey.folder() / stored->path, row,
                         [&](MeasuredSegment&& segment) { rows.push_back(std::move(segment)); });
    CHECK(row.state == stored->state);
    CHECK(row.settings == stored->settings);
    CHECK(row.frames == stored->frames);
    CHECK(row.start == stored->start);
    std::size_t next = 0;
    // The loop gives channel by channel within a segment, the store sorts by channel.
    std::stable_sort(rows.begin(), rows.end(),
                     [](const auto& a, const auto& b) { return a.row.channel < b.row.channel; });
    store.for_each_segment_of(stored->id, [&](const SegmentRow& segment) {
        REQUIRE(next < rows.size());
        CHECK(rows[next].row.segment == segment.segment);
        CHECK(rows[next].row.channel == segment.channel);
        CHECK(texts(rows[next].row.values) == texts(segment.values));
        CHECK(rows[next].spectra == store.spectrum(stored->id, segment.channel, segment.segment));
        ++next;
    });
    CHECK(next == rows.size());
}

TEST_CASE("hashes are computed only when they are asked for, and only once") {
    SurveyOnDisk survey;
    survey.fill();
    survey.measure();
    const auto sum = [&] {
        return Store::open_read_only(survey.folder())
            .find("recordings/D1/A_20310504_050000.wav")
            ->sha256;
    };
    CHECK(sum().empty());
    MeasureOptions with_hash;
    with_hash.hash = true;
    const MeasureSummary summary = survey.measure(with_hash);
    CHECK(summary.to_do == 5);
    CHECK(summary.measured == 0);
    // sha256sum is the reference.
    const std::string file = (survey.recordings("D1") / "A_20310504_050000.wav").string();
    FILE* pipe = popen(("sha256sum " + file).c_str(), "r");
    char text[65] = "";
    REQUIRE(fgets(text, sizeof text, pipe));
    pclose(pipe);
    CHECK(sum() == text);
    CHECK(survey.measure(with_hash).to_do == 0);
}
