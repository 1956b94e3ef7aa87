#include "survey/clock.h"

#include <catch2/catch.hpp>

#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;
using std::chrono::hours;

namespace {

Survey survey() {
    Survey made;
    made.time_zone = "Asia/Kuching";
    return made;
}

/// Out for ten days, clock in the survey's zone.
Deployment ten_days() {
    Deployment made;
    made.start = local("2031-05-01 12:00");
    made.end = local("2031-05-11 12:00");
    return made;
}

std::string true_time(const Deployment& deployment, const char* wall,
                      std::optional<std::chrono::seconds> stated = {}) {
    return format_iso(RecorderClock(survey(), deployment).read(local(wall), stated).instant,
                      Zone());
}

}  // namespace

TEST_CASE("an unchecked clock is believed, in its own zone") {
    Deployment deployment = ten_days();
    CHECK(true_time(deployment, "2031-05-04 06:00") == "2031-05-03T22:00:00Z");
    deployment.clock = "UTC";
    CHECK(true_time(deployment, "2031-05-04 06:00") == "2031-05-04T06:00:00Z");
    deployment.clock = "+07:00";
    CHECK(true_time(deployment, "2031-05-04 06:00") == "2031-05-03T23:00:00Z");
    CHECK(RecorderClock(survey(), deployment).read(local("2031-05-04 06:00")).correction_s == 0);
}

TEST_CASE("an offset in the file's name goes before the deployment's zone") {
    Deployment deployment = ten_days();
    deployment.clock = "UTC";
    CHECK(true_time(deployment, "2031-05-04 06:00", hours(8)) == "2031-05-03T22:00:00Z");
    CHECK(true_time(deployment, "2031-05-04 06:00", hours(0)) == "2031-05-04T06:00:00Z");
    deployment.clock_error_start_s = 420;
    CHECK(true_time(deployment, "2031-05-04 06:07", hours(8)) == "2031-05-03T22:00:00Z");
}

TEST_CASE("one check holds throughout: a clock 7 minutes fast showed 06:07 at 06:00") {
    for (const bool at_start : {true, false}) {
        Deployment deployment = ten_days();
        (at_start ? deployment.clock_error_start_s : deployment.clock_error_end_s) = 420;
        const RecorderClock clock(survey(), deployment);
        CHECK(true_time(deployment, "2031-05-04 06:07") == "2031-05-03T22:00:00Z");
        CHECK(clock.read(local("2031-05-10 06:00")).correction_s == -420);
        CHECK(clock.checks() == RecorderClock::Checks::one);
    }
}

TEST_CASE("between two checks the error runs linearly, outside it stays") {
    // 10 s slow at the start, 90 s fast at the end: 100 s gained in ten days, 10 s a day.
    Deployment deployment = ten_days();
    deployment.clock_error_start_s = -10;
    deployment.clock_error_end_s = 90;
    const RecorderClock clock(survey(), deployment);
    CHECK(clock.checks() == RecorderClock::Checks::both);
    CHECK(clock.advice() == "");
    // At the checks themselves the true times are those of the sheet.
    CHECK(clock.read(local("2031-05-01 11:59:50")).instant == utc("2031-05-01 04:00"));
    CHECK(clock.read(local("2031-05-11 12:01:30")).instant == utc("2031-05-11 04:00"));
    // Half way, at true noon of the 6th, the recorder is 40 s fast.
    CHECK(clock.read(local("2031-05-06 12:00:40")).instant == utc("2031-05-06 04:00"));
    CHECK(clock.read(local("2031-05-06 12:00:40")).correction_s == -40);
    CHECK(clock.read(local("2031-04-30 12:00")).correction_s == 10);
    CHECK(clock.read(local("2031-05-12 12:00")).correction_s == -90);
}

TEST_CASE("the correction is told to the millisecond that was applied") {
    Deployment deployment = ten_days();
    deployment.clock_error_start_s = 0.0004;
    CHECK(RecorderClock(survey(), deployment).read(local("2031-05-04 06:00")).correction_s == 0);
    deployment.clock_error_start_s = 1.2346;
    CHECK(RecorderClock(survey(), deployment).read(local("2031-05-04 06:00")).correction_s ==
          -1.235);
}

TEST_CASE("absurd checks do not turn time around") {
    Deployment deployment = ten_days();
    deployment.clock_error_start_s = 0;
    deployment.clock_error_end_s = -2e6;  // further back than the stay is long
    const auto reading = RecorderClock(survey(), deployment).read(local("2031-05-04 06:00"));
    CHECK(reading.correction_s == 0);
}

TEST_CASE("a daylight-saving zone of the recorder's clock is followed") {
    Survey vienna;
    vienna.time_zone = "Europe/Vienna";
    Deployment deployment;
    CHECK(RecorderClock(vienna, deployment).read(local("2031-03-30 03:30")).instant ==
          utc("2031-03-30 01:30"));
    CHECK(RecorderClock(vienna, deployment).read(local("2031-10-26 02:30")).instant ==
          utc("2031-10-26 00:30"));
    deployment.clock = "+01:00";  // recorders commonly do not change their clock
    CHECK(RecorderClock(vienna, deployment).read(local("2031-03-30 03:30")).instant ==
          utc("2031-03-30 02:30"));
}

TEST_CASE("fewer than two checks are told with what they do to the dawn window") {
    Deployment deployment = ten_days();
    CHECK(RecorderClock(survey(), deployment).advice() ==
          "the clock was never checked: it is taken as right, and if it was off by minutes, so are "
          "the edges of the "
          "dawn window, and calls of one window are counted in the next");
    deployment.clock_error_end_s = 3;
    CHECK(RecorderClock(survey(), deployment).advice() ==
          "the clock was checked once: its error is taken as constant, but a recorder's clock "
          "commonly drifts by some "
          "seconds a week, so the edges of the dawn window are uncertain by as much");
}
