#include "card/card_findings.h"

#include <catch2/catch.hpp>
#include <string>

using namespace hearwood;
using namespace std::chrono;

namespace {

// 2026-03-14 00:00 in Kuching, which is 8 hours east of UTC all year.
const Instant kMidnight = Instant(sys_days(2026y / March / 14)) - 8h;

CardRecording recording(minutes from_midnight, double seconds_long = 60) {
    static int number = 0;
    CardRecording r;
    r.path = std::to_string(from_midnight.count()) + ".wav";
    r.size = 100;
    r.sha256 = std::to_string(++number);
    r.start = kMidnight + from_midnight;
    r.seconds = seconds_long;
    r.sample_rate = 48'000;
    r.channels = 1;
    r.bits = 16;
    return r;
}

/// A recording of a minute every ten minutes.
std::vector<CardRecording> regular(int count) {
    std::vector<CardRecording> all;
    for (int i = 0; i < count; ++i) all.push_back(recording(minutes(10 * i)));
    return all;
}

std::string found(const std::vector<CardRecording>& recordings, bool with_dates = true,
                  std::vector<ScheduledHours> hours = {}) {
    Survey survey;
    survey.time_zone = "Asia/Kuching";
    Deployment deployment;
    deployment.hours = std::move(hours);
    if (with_dates) {
        deployment.start = LocalTime(local_days(2026y / March / 14));
        deployment.end = LocalTime(local_days(2026y / April / 14));
    }
    std::string text;
    for (const Finding& finding : find_in_card(recordings, survey, deployment))
        text += finding.subject.name + ": " + finding.what + "\n";
    return text;
}

}  // namespace

TEST_CASE("a regular card gives no findings") {
    CHECK(found(regular(100)).empty());
    CHECK(found({}).empty());
    CHECK(found(regular(1)).empty());
}

TEST_CASE("the day between two nights is no gap of a night schedule") {
    std::vector<CardRecording> nights;
    for (const int night : {0, 1})
        for (int i = 0; i < 24; ++i)
            nights.push_back(recording(minutes(24 * 60 * night + 18 * 60 + 10 * i)));
    CHECK(found(nights).find("Nothing for 20") != std::string::npos);
    CHECK(found(nights, true, *parse_scheduled_hours("18:00-22:00")).empty());
    nights.erase(nights.begin() + 10);
    CHECK(found(nights, true, *parse_scheduled_hours("18:00-22:00")) ==
          "1190.wav: Nothing for 19 min before it, from 2026-03-14 19:31:00 on.\n");
}

TEST_CASE("a hole in the rhythm is a gap, told at the recording behind it") {
    auto all = regular(100);
    all.erase(all.begin() + 50);
    CHECK(found(all) == "510.wav: Nothing for 19 min before it, from 2026-03-14 08:11:00 on.\n");
}

TEST_CASE("a pause that comes every night is no gap") {
    std::vector<CardRecording> all;
    for (int day = 0; day < 10; ++day)
        for (int i = 0; i < 30; ++i) all.push_back(recording(minutes(1440 * day + 300 + 10 * i)));
    CHECK(found(all).empty());
}

TEST_CASE("a schedule that alternates has no gaps") {
    std::vector<CardRecording> all;
    for (int i = 0; i < 60; ++i) all.push_back(recording(minutes(30 * (i / 2) + 5 * (i % 2))));
    CHECK(found(all).empty());
}

TEST_CASE("overlaps and short recordings") {
    auto all = regular(100);
    all[10].seconds = 605;
    all[20].seconds = 12;
    CHECK(found(all) ==
          "110.wav: Begins 5 s before 100.wav ends.\n200.wav: Holds 12 s; most hold 60 s.\n");
}

TEST_CASE("clocks that were reset are told apart from starts outside the deployment") {
    auto all = regular(50);
    all[3].start = Instant(sys_days(2000y / January / 1));
    all[4].start = kMidnight - 24h;
    const std::string text = found(all);
    CHECK(text.find("30.wav: Begins 2000-01-01 08:00:00: the clock was set back or never set.\n") ==
          0);
    CHECK(text.find("40.wav: Begins 2026-03-13 00:00:00, before the deployment.\n") !=
          std::string::npos);
    // More than a month off is a clock, less is not.
    all[4].start = kMidnight - 29 * 24h;
    CHECK(found(all).find("40.wav: Begins 2026-02-13 00:00:00, before the deployment") !=
          std::string::npos);
    all[4].start = kMidnight - 33 * 24h;
    CHECK(found(all).find("40.wav: Begins 2026-02-09 00:00:00: the clock was set back") !=
          std::string::npos);
    CHECK(found(all, false).find("40.wav: Begins") == std::string::npos);
}

TEST_CASE("other formats, other recorders, the same content, damage") {
    auto all = regular(10);
    all[1].sample_rate = 96'000;
    all[2].channels = 2;
    for (auto& r : all) r.serial = "S1";
    all[3].serial = "S2";
    all[5].sha256 = all[4].sha256;
    all[6].damage = "truncated";
    all[7].start.reset();
    all[8].size = all[9].size = 0;  // empty files are all equal, which is no news
    all[9].sha256 = all[8].sha256;
    CHECK(found(all) ==
          "60.wav: Truncated.\n"
          "70.wav: Neither its name nor its header says when it began.\n"
          "10.wav: 96000 Hz, 16 bit, 1 channel; most are 48000 Hz, 16 bit, 1 channel.\n"
          "20.wav: 48000 Hz, 16 bit, 2 channels; most are 48000 Hz, 16 bit, 1 channel.\n"
          "30.wav: Written by recorder S2; most were by S1.\n"
          "50.wav: Has the same content as 40.wav.\n"
          "80.wav: Nothing for 19 min before it, from 2026-03-14 01:01:00 on.\n");
}
