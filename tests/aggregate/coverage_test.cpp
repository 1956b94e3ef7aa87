// Expected, present and usable minutes, and what the traces of a deployment point to.
#include "aggregate/coverage.h"

#include <catch2/catch.hpp>

#include "synthetic_survey.h"

using namespace hearwood;
using namespace hearwood::synthetic;
using std::chrono::hours;
using std::chrono::minutes;

namespace {

struct Card {
    Survey survey = four_sites();
    std::vector<RecordingRow> rows;

    void dates(const std::string& start, const std::string& end) {
        survey.deployments[0].start = at(start);
        survey.deployments[0].end = at(end);
    }
    RecordingRow& record(LocalTime start, double length_min) {
        RecordingRow row;
        row.deployment = "DK1";
        row.path = format_local(start) + ".wav";
        row.start = start;
        row.sample_rate = 24000;
        row.channels = 1;
        row.frames = static_cast<std::int64_t>(24000 * 60 * length_min);
        row.size = 44 + 2 * row.frames;
        row.state = RecordingState::measured;
        rows.push_back(row);
        return rows.back();
    }
    /// The first ten minutes of these hours, on so many dates.
    void ten_minutes(const std::string& first_date, int dates, const std::vector<int>& of_hours) {
        for (int date = 0; date < dates; ++date)
            for (const int hour : of_hours)
                record(at(first_date + " 00:00") + hours(24 * date + hour), 10);
    }
    DeploymentCoverage coverage() const {
        const Placer placer(survey);
        return coverage_of(survey, placer, 0, examine_recordings(placer, 0, rows), nullptr);
    }
};

const HourCoverage& hour_of(const DeploymentCoverage& coverage, const std::string& date, int hour) {
    for (const HourCoverage& row : coverage.hours)
        if (row.date == on(date) && row.hour == hour) return row;
    throw std::runtime_error("no such hour");
}

bool says(const DeploymentCoverage& coverage, const std::string& words) {
    for (const Finding& finding : coverage.findings)
        if (finding.what.find(words) != std::string::npos) return true;
    return false;
}

/// An hour that the schedule leaves out and in which nothing was recorded has no row.
bool expects_nothing(const DeploymentCoverage& coverage, const char* date, int hour) {
    for (const HourCoverage& one : coverage.hours)
        if (one.date == on(date) && one.hour == hour) return one.expected == 0;
    return true;
}

}  // namespace

TEST_CASE("minutes are shared out over the hours they touch") {
    HourMinutes shared(Zone::named("Asia/Kuching"));
    // 21:50 UTC is 05:50 local.
    const Instant from = Zone().to_utc(at("2031-05-03 21:50"));
    shared.add(from, from + minutes(85));
    CHECK(shared.at(on("2031-05-04"), 5) == 10);
    CHECK(shared.at(on("2031-05-04"), 6) == 60);
    CHECK(shared.at(on("2031-05-04"), 7) == 15);
    shared.add(from, from + minutes(4), 0.5);
    CHECK(shared.at(on("2031-05-04"), 5) == 12);
}

TEST_CASE("a repeated hour holds two hours of minutes") {
    HourMinutes shared(Zone::named("Europe/Berlin"));
    const Instant from = Zone().to_utc(at("2025-10-25 23:00"));  // 01:00 summer time
    shared.add(from, from + hours(4));
    CHECK(shared.at(on("2025-10-26"), 1) == 60);
    CHECK(shared.at(on("2025-10-26"), 2) == 120);
    CHECK(shared.at(on("2025-10-26"), 3) == 60);
}

TEST_CASE("what the sheet expects is measured against what is there") {
    Card card;
    card.survey.deployments[0].expected_minutes_per_hour = 10;
    card.dates("2031-05-04 05:30", "2031-05-04 09:00");
    card.record(at("2031-05-04 06:00"), 10);
    card.record(at("2031-05-04 08:00"), 4);
    const auto coverage = card.coverage();
    CHECK(coverage.expectation == DeploymentCoverage::Expectation::sheet);
    CHECK(hour_of(coverage, "2031-05-04", 5).expected == 5);  // half of the hour
    CHECK(hour_of(coverage, "2031-05-04", 6).expected == 10);
    CHECK(hour_of(coverage, "2031-05-04", 6).present == 10);
    CHECK(hour_of(coverage, "2031-05-04", 7).present == 0);
    CHECK(hour_of(coverage, "2031-05-04", 8).present == 4);
    CHECK(coverage.expected == 35);
    CHECK(coverage.present == 14);
    CHECK(coverage.usable == 14);
    CHECK(says(coverage, "Gaps: 10 min"));
}

TEST_CASE("a night schedule is expected at night alone") {
    Card card;
    card.survey.deployments[0].expected_minutes_per_hour = 60;
    card.survey.deployments[0].hours = *parse_scheduled_hours("16:30-08:00");
    card.dates("2031-05-04 12:00", "2031-05-06 12:00");
    for (const char* day : {"2031-05-04", "2031-05-05"})
        card.record(at(std::string(day) + " 16:30"), 15 * 60 + 30);
    const auto coverage = card.coverage();
    CHECK(expects_nothing(coverage, "2031-05-04", 15));
    CHECK(hour_of(coverage, "2031-05-04", 16).expected == 30);
    CHECK(hour_of(coverage, "2031-05-05", 7).expected == 60);
    CHECK(expects_nothing(coverage, "2031-05-05", 8));
    CHECK(coverage.expected == 2 * (15 * 60 + 30));
    CHECK(coverage.present == coverage.expected);
    CHECK(coverage.findings.empty());
}

TEST_CASE("hours without minutes are held against the files' rhythm") {
    Card card;
    card.survey.deployments[0].hours = *parse_scheduled_hours("05:00-08:00");
    card.ten_minutes("2031-05-04", 3, {5, 6});
    const auto coverage = card.coverage();
    CHECK(hour_of(coverage, "2031-05-05", 6).expected == 10);
    CHECK(hour_of(coverage, "2031-05-05", 7).expected == 10);  // never recorded
    CHECK(expects_nothing(coverage, "2031-05-05", 8));
}

TEST_CASE("a recording every second hour is no gap every other hour") {
    Card card;
    card.survey.deployments[0].hours = *parse_scheduled_hours("17:00-01:00");
    card.dates("2031-05-04 12:00", "2031-05-07 12:00");
    card.ten_minutes("2031-05-04", 3, {17, 19, 21, 23});
    SECTION("all there") {
        const auto coverage = card.coverage();
        CHECK(expects_nothing(coverage, "2031-05-05", 18));
        CHECK(hour_of(coverage, "2031-05-05", 19).expected == 10);
        CHECK(coverage.expected == coverage.present);
        CHECK(coverage.findings.empty());
    }
    SECTION("seconds over the hour, as of a clock that drifts, are no schedule of that hour") {
        for (std::size_t i = 4; i < card.rows.size(); ++i)
            card.rows[i].start = *card.rows[i].start - std::chrono::seconds(2);
        const auto coverage = card.coverage();
        CHECK(expects_nothing(coverage, "2031-05-04", 18));
        CHECK(coverage.findings.empty());
    }
    SECTION("one of them lost") {
        card.rows.erase(card.rows.begin() + 5);  // the second night's 19:00
        CHECK(says(card.coverage(), "Gaps: 10 min of recording missing in 1 hour"));
    }
    SECTION("shorter than a minute, and lost") {
        for (RecordingRow& row : card.rows) row.frames = 24000 * 20;
        card.rows.erase(card.rows.begin() + 5);
        CHECK(says(card.coverage(), "Gaps: 20 s of recording missing in 1 hour"));
    }
}

TEST_CASE("an hour that an hourly schedule never recorded is missing") {
    Card card;
    card.survey.deployments[0].hours = *parse_scheduled_hours("16:30-22:15");
    card.dates("2031-05-04 12:00", "2031-05-07 12:00");
    for (int date = 0; date < 3; ++date)
        for (const int hour : {16, 17, 18, 20, 21})
            card.record(at("2031-05-04 00:30") + hours(24 * date + hour), 10);
    const auto coverage = card.coverage();
    CHECK(hour_of(coverage, "2031-05-05", 19).expected == 10);
    // Of the last quarter of an hour nothing: a recording begins at half past.
    CHECK(expects_nothing(coverage, "2031-05-05", 22));
    CHECK(says(coverage, "Gaps: 30 min of recording missing in 3 hours"));
}

TEST_CASE("an hour that the schedule cuts is expected in part") {
    Card card;
    card.survey.deployments[0].hours = *parse_scheduled_hours("16:30-08:00");
    card.dates("2031-05-04 12:00", "2031-05-07 12:00");
    for (const char* day : {"2031-05-04", "2031-05-05", "2031-05-06"})
        card.record(at(std::string(day) + " 16:30"), 15 * 60 + 30);
    const auto coverage = card.coverage();
    CHECK(hour_of(coverage, "2031-05-05", 16).expected == 30);
    CHECK(hour_of(coverage, "2031-05-05", 17).expected == 60);
    CHECK(coverage.expected == coverage.present);
    CHECK(coverage.findings.empty());
}

TEST_CASE("without the sheet's word the rhythm of the files is expected") {
    Card card;
    card.ten_minutes("2031-05-04", 6, {5, 6, 18});
    card.rows.erase(card.rows.begin() + 7);  // the third date's 06:00
    const auto coverage = card.coverage();
    CHECK(coverage.expectation == DeploymentCoverage::Expectation::rhythm);
    CHECK(hour_of(coverage, "2031-05-06", 6).expected == 10);
    CHECK(hour_of(coverage, "2031-05-06", 6).present == 0);
    // Seventeen whole hours of ten minutes, and the last one up to its last recording's end, 18:10.
    CHECK(coverage.expected == Approx(17 * 10 + 10 * 10 / 60.0));
    CHECK(says(coverage, "Gaps: 10 min of recording missing in 1 hour"));
    CHECK(says(coverage, "2031-05-06 at 06:00"));
}

TEST_CASE("a whole deployment has no findings") {
    Card card;
    card.dates("2031-05-04 04:00", "2031-05-08 20:00");
    card.ten_minutes("2031-05-04", 5, {5, 6, 18});
    CHECK(card.coverage().findings.empty());
}

TEST_CASE("minutes outside the deployment and minutes recorded twice do not count") {
    Card card;
    card.dates("2031-05-04 06:05", "2031-05-04 12:00");
    card.record(at("2031-05-04 06:00"), 10);
    card.record(at("2031-05-04 06:08"), 10);
    card.record(at("2031-05-04 11:55"), 10);
    const auto coverage = card.coverage();
    CHECK(hour_of(coverage, "2031-05-04", 6).present == 13);
    CHECK(hour_of(coverage, "2031-05-04", 11).present == 5);
}

TEST_CASE("an early end is put down to what the files show") {
    Card card;
    card.dates("2031-05-04 00:00", "2031-05-14 00:00");
    card.ten_minutes("2031-05-04", 5, {5, 6, 18});
    SECTION("nothing") {
        CHECK(says(card.coverage(), "Stopped on 2031-05-08 18:10"));
        CHECK(says(card.coverage(), "do not show why"));
    }
    SECTION("the last file was cut off: power") {
        card.rows.back().state = RecordingState::damaged;
        CHECK(says(card.coverage(), "power was lost"));
    }
    SECTION("files with nothing in them: the card") {
        RecordingRow& empty = card.record(at("2031-05-09 05:00"), 0);
        empty.state = RecordingState::unreadable;
        empty.sample_rate = 0;
        empty.size = 0;
        CHECK(says(card.coverage(), "the card was full or failed (1 file after it holds nothing)"));
    }
    SECTION("files that fill a usual card") {
        for (RecordingRow& row : card.rows) row.size = 31'000'000'000 / 15;
        card.rows.back().state = RecordingState::damaged;
        CHECK(says(card.coverage(), "its files fill a card of 32 GB"));
    }
}

TEST_CASE("a late start is told") {
    Card card;
    card.survey.deployments[0].expected_minutes_per_hour = 10;
    card.dates("2031-05-04 00:00", "2031-05-05 00:00");
    for (int hour = 12; hour < 24; ++hour) card.record(at("2031-05-04 00:00") + hours(hour), 10);
    CHECK(says(card.coverage(),
               "Its first recording is of 2031-05-04 12:00, 2.0 h of recording after its start"));
}

TEST_CASE("a stuck schedule records the same few hours on every date") {
    Card card;
    card.dates("2031-05-04 00:00", "2031-05-13 00:00");
    card.ten_minutes("2031-05-04", 5, {4, 5, 6, 7, 18, 19});
    card.ten_minutes("2031-05-09", 4, {5});
    CHECK(says(card.coverage(), "Its schedule was stuck from 2031-05-09 on: the same 1 hour"));
}

TEST_CASE("recordings with a lost clock are counted and not placed") {
    Card card;
    card.dates("2031-05-04 00:00", "2031-05-08 00:00");
    card.ten_minutes("2031-05-04", 4, {5, 6});
    card.ten_minutes("2001-01-01", 1, {0, 1});
    const auto coverage = card.coverage();
    CHECK(says(coverage, "The clock lost its time: 2 recordings"));
    CHECK(coverage.present == 80);
}

TEST_CASE("a deployment without recordings is told") {
    Card card;
    CHECK(says(card.coverage(), "No recordings in recordings/DK1"));
}

TEST_CASE("a rhythm unlike the sheet's is told") {
    Card card;
    card.survey.deployments[0].expected_minutes_per_hour = 30;
    card.dates("2031-05-04 05:00", "2031-05-04 11:00");
    card.ten_minutes("2031-05-04", 1, {5, 6, 7, 8, 9, 10});
    CHECK(says(card.coverage(),
               "An hour usually holds 10 minutes, while deployments.csv expects 30"));
}

TEST_CASE("the calendar shows each date with one sign, and bad deployments hour by hour") {
    Card card;
    card.dates("2031-05-04 00:00", "2031-05-07 00:00");
    card.ten_minutes("2031-05-04", 3, {5, 6});
    card.rows.erase(card.rows.begin() + 2, card.rows.begin() + 4);  // nothing on the second date
    const DeploymentCoverage coverage = card.coverage();
    const std::string text = coverage_calendar(card.survey, std::span(&coverage, 1));
    CHECK(text.find("from 2031-05-04") != std::string::npos);
    CHECK(text.find("DK1        #.#\n") != std::string::npos);
    CHECK(text.find("2031-05-05      ..\n") == std::string::npos);
    CHECK(text.find("  2031-05-05      .." + std::string(17, ' ') + "\n") != std::string::npos);
}

TEST_CASE("the calendar cuts and lines up names by characters, not bytes") {
    Card card;
    card.dates("2031-05-04 00:00", "2031-05-05 00:00");
    card.ten_minutes("2031-05-04", 1, {5});
    const DeploymentCoverage coverage = card.coverage();
    const auto row_of = [&](const std::string& name) {
        card.survey.deployments[0].name = name;
        const std::string text = coverage_calendar(card.survey, std::span(&coverage, 1));
        const auto start = text.find('\n') + 1;
        return text.substr(start, text.find('\n', start) - start);
    };
    CHECK(row_of("Süd") == "Süd        #");
    std::string many;
    for (int i = 0; i < 30; ++i) many += "ü";
    CHECK(row_of("a" + many) == "a" + many.substr(0, 2 * 23) + " #");
}

TEST_CASE("what is left out of the hours is counted in words") {
    Card card;
    card.dates("2031-05-01 00:00", "2031-05-16 00:00");
    card.ten_minutes("2031-05-01", 15, {5, 6});
    card.rows.resize(20);  // ends after ten dates
    const DeploymentCoverage coverage = card.coverage();
    const std::string text = coverage_calendar(card.survey, std::span(&coverage, 1));
    CHECK(text.find("  and 1 more date: coverage.csv") != std::string::npos);
}
