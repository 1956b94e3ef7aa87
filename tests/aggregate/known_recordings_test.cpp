// What is odd about recordings when they are held against each other and their deployment.
#include "aggregate/known_recordings.h"

#include <catch2/catch.hpp>

#include "synthetic_survey.h"

using namespace hearwood;
using namespace hearwood::synthetic;

namespace {

RecordingRow row(const std::string& path, const std::string& start, int minutes = 10) {
    RecordingRow result;
    result.deployment = "DK1";
    result.path = path;
    result.start = at(start);
    result.sample_rate = 24000;
    result.channels = 1;
    result.frames = std::int64_t{24000} * 60 * minutes;
    result.size = 44 + 2 * result.frames;
    result.state = RecordingState::measured;
    return result;
}

std::vector<KnownRecording> examine(const Survey& survey, std::vector<RecordingRow> rows) {
    return examine_recordings(Placer(survey), 0, std::move(rows));
}

Survey dated() {
    Survey survey = four_sites();
    survey.deployments[0].start = at("2031-05-01 12:00");
    survey.deployments[0].end = at("2031-05-08 12:00");
    return survey;
}

}  // namespace

TEST_CASE("recordings come by start, those without one last") {
    RecordingRow no_start = row("a.wav", "2031-05-04 05:00");
    no_start.start.reset();
    no_start.state = RecordingState::no_start_time;
    const auto known = examine(four_sites(), {no_start, row("b.wav", "2031-05-04 06:00"),
                                              row("c.wav", "2031-05-04 05:00")});
    CHECK(known[0].row.path == "c.wav");
    CHECK(known[1].row.path == "b.wav");
    CHECK(known[2].row.path == "a.wav");
    CHECK(known[2].state() == "no start time");
    CHECK(known[2].unusable());
    CHECK_FALSE(known[2].counts());
    CHECK_FALSE(known[0].unusable());
}

TEST_CASE("a clock that lost its time is told by the deployment's dates") {
    const auto known =
        examine(dated(), {row("a.wav", "2031-05-04 05:00"), row("b.wav", "2010-01-01 00:00")});
    CHECK(known[0].row.path == "b.wav");
    CHECK(known[0].has(Oddity::clock_reset));
    CHECK(known[0].state() == "clock reset");
    CHECK(known[0].unusable());
    CHECK_FALSE(known[1].has(Oddity::clock_reset));
}

TEST_CASE("without dates in the sheet, by the deployment's own recordings") {
    const auto known =
        examine(four_sites(), {row("a.wav", "2031-05-04 05:00"), row("b.wav", "2031-05-05 05:00"),
                               row("c.wav", "2000-01-01 00:00")});
    CHECK(known[0].has(Oddity::clock_reset));
    CHECK_FALSE(known[1].has(Oddity::clock_reset));
    CHECK_FALSE(known[2].has(Oddity::clock_reset));
}

TEST_CASE("the side that the sheet leaves open is judged by the deployment's own recordings") {
    const std::vector<RecordingRow> rows{row("a.wav", "2031-05-04 05:00"),
                                         row("b.wav", "2031-05-05 05:00"),
                                         row("c.wav", "2000-01-01 00:00")};
    Survey survey = dated();
    survey.deployments[0].start.reset();
    const auto ended = examine(survey, rows);
    CHECK(ended[0].has(Oddity::clock_reset));
    CHECK_FALSE(ended[1].has(Oddity::clock_reset));

    // Most lost their time: the middle one is that of those which the start allows.
    survey = dated();
    survey.deployments[0].end.reset();
    const auto begun =
        examine(survey, {row("a.wav", "2000-01-01 00:00"), row("b.wav", "2000-01-02 00:00"),
                         row("c.wav", "2031-05-04 05:00"), row("d.wav", "2035-05-04 05:00"),
                         row("e.wav", "2031-05-05 05:00")});
    for (const KnownRecording& recording : begun) {
        CAPTURE(recording.row.path);
        const bool lost = recording.row.path != "c.wav" && recording.row.path != "e.wav";
        CHECK(recording.has(Oddity::clock_reset) == lost);
    }
}

TEST_CASE("a recording a day before the start is outside, not a lost clock") {
    const auto known =
        examine(dated(), {row("a.wav", "2031-04-30 05:00"), row("b.wav", "2031-05-02 05:00")});
    CHECK(known[0].state() == "outside deployment");
    CHECK_FALSE(known[0].has(Oddity::clock_reset));
    CHECK_FALSE(known[0].unusable());
    CHECK(known[1].state() == "measured");
}

TEST_CASE("copies are told by content, or by name, start and size where nothing was hashed") {
    RecordingRow first = row("a/x.wav", "2031-05-04 05:00"),
                 second = row("b/x.wav", "2031-05-04 05:00");
    SECTION("not hashed") {
        const auto known = examine(four_sites(), {first, second});
        CHECK_FALSE(known[0].has(Oddity::duplicate));
        CHECK(known[1].state() == "duplicate");
        CHECK(known[1].note.find("a/x.wav") != std::string::npos);
        CHECK_FALSE(known[1].counts());
    }
    SECTION("the same content under another name and start") {
        second = row("b/y.wav", "2031-05-04 07:00");
        first.sha256 = second.sha256 = "ab12";
        CHECK(examine(four_sites(), {first, second})[1].state() == "duplicate");
    }
    SECTION("a dead microphone's files are alike, and copies at one time only") {
        second = row("b/y.wav", "2031-05-04 07:00");
        RecordingRow copy = row("c/z.wav", "2031-05-04 07:00");
        first.sha256 = second.sha256 = copy.sha256 = "ab12";
        const auto known = examine_recordings(Placer(four_sites()), 0, {first, second, copy},
                                              [](const RecordingRow&) { return true; });
        CHECK_FALSE(known[0].has(Oddity::duplicate));
        CHECK_FALSE(known[1].has(Oddity::duplicate));
        CHECK(known[2].state() == "duplicate");
    }
    SECTION("hashed and different") {
        first.sha256 = "ab12";
        second.sha256 = "cd34";
        CHECK_FALSE(examine(four_sites(), {first, second})[1].has(Oddity::duplicate));
    }
    SECTION("a file that is gone is nobody's copy") {
        first.gone = true;
        const auto known = examine(four_sites(), {first, second});
        CHECK(known[0].state() == "gone");
        CHECK_FALSE(known[0].counts());
        CHECK_FALSE(known[0].unusable());
        CHECK_FALSE(finding_about(known[0]));
        CHECK(known[1].counts());
        CHECK_FALSE(known[1].has(Oddity::duplicate));
    }
}

TEST_CASE("recordings of one recorder cannot overlap") {
    const auto known = examine(
        four_sites(), {row("a.wav", "2031-05-04 05:00"), row("b.wav", "2031-05-04 05:09:59"),
                       row("c.wav", "2031-05-04 05:15"), row("d.wav", "2031-05-04 06:00")});
    CHECK_FALSE(known[1].has(Oddity::overlapping));  // one second: the names' own rounding
    CHECK(known[2].has(Oddity::overlapping));
    CHECK(known[2].note == "begins 299 s before b.wav ends");
    CHECK(known[2].counts());
    CHECK_FALSE(known[3].has(Oddity::overlapping));
}

TEST_CASE("a rate or a number of channels unlike the rest is odd") {
    RecordingRow other = row("c.wav", "2031-05-04 07:00");
    other.sample_rate = 48000;
    other.channels = 2;
    const auto known = examine(
        four_sites(), {row("a.wav", "2031-05-04 05:00"), row("b.wav", "2031-05-04 06:00"), other});
    CHECK(known[0].oddities.empty());
    CHECK(known[2].has(Oddity::wrong_rate));
    CHECK(known[2].has(Oddity::wrong_channels));
}
