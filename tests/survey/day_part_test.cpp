#include "survey/day_part.h"

#include <catch2/catch.hpp>
#include <chrono>
#include <thread>

#include "base/missing.h"
#include "support.h"
#include "survey/windows.h"

using namespace hearwood;
using namespace hearwood::testing;
using std::chrono::hours;
using std::chrono::milliseconds;
using std::chrono::minutes;

namespace {

Survey survey_at(double latitude, double longitude, const char* zone) {
    Survey survey;
    survey.time_zone = zone;
    survey.windows = built_in_windows();
    survey.sites.resize(1);
    survey.sites[0].latitude = latitude;
    survey.sites[0].longitude = longitude;
    return survey;
}

Survey kuching() {
    return survey_at(1.55, 110.34, "Asia/Kuching");
}

/// "dawn 2031-05-04": window and its date, as of a wall-clock time.
std::string window_at(const Survey& survey, Instant instant) {
    const DayPart part = DayParts(survey).of(0, instant);
    if (part.window < 0) return "none";
    return survey.windows[static_cast<std::size_t>(part.window)].name + ' ' +
           format_date(part.window_date);
}
std::string window_at(const Survey& survey, const char* wall) {
    return window_at(survey, Zone::named(survey.time_zone).to_utc(local(wall)));
}

Window clock_window(const char* name, const char* from, const char* to) {
    return {name, parse_window_edge(from).value(), parse_window_edge(to).value()};
}

}  // namespace

TEST_CASE("the built-in windows part the day, edges included at their beginning") {
    const Survey survey = kuching();
    const SunTimes sun = DayParts(survey).sun(0, date("2031-05-04"));
    const auto at = [&](Instant event, int minute, int ms) {
        return window_at(survey, event + minutes(minute) + milliseconds(ms));
    };
    CHECK(at(*sun.sunrise, -60, -1) == "night 2031-05-03");
    CHECK(at(*sun.sunrise, -60, 0) == "dawn 2031-05-04");
    CHECK(at(*sun.sunrise, 120, -1) == "dawn 2031-05-04");
    CHECK(at(*sun.sunrise, 120, 0) == "day 2031-05-04");
    CHECK(at(*sun.sunset, -60, -1) == "day 2031-05-04");
    CHECK(at(*sun.sunset, -60, 0) == "dusk 2031-05-04");
    CHECK(at(*sun.sunset, 60, -1) == "dusk 2031-05-04");
    CHECK(at(*sun.sunset, 60, 0) == "night 2031-05-04");
}

TEST_CASE("a night belongs to the evening that began it, over midnight and year's end") {
    const Survey survey = kuching();
    CHECK(window_at(survey, "2031-05-04 23:59:59.999") == "night 2031-05-04");
    CHECK(window_at(survey, "2031-05-05 00:00") == "night 2031-05-04");
    CHECK(window_at(survey, "2032-01-01 00:30") == "night 2031-12-31");
    CHECK(window_at(survey, "2032-03-01 00:30") == "night 2032-02-29");
    const DayPart part =
        DayParts(survey).of(0, Zone::named("Asia/Kuching").to_utc(local("2032-01-01 00:30")));
    CHECK(format_date(part.date) == "2032-01-01");
    CHECK(part.hour == 0);
    CHECK(part.offset == hours(8));
}

TEST_CASE("minutes from sunrise count from the local date's own") {
    const Survey survey = kuching();
    const DayParts parts(survey);
    const SunTimes sun = parts.sun(0, date("2031-05-04"));
    CHECK(parts.of(0, *sun.sunrise).minutes_from_sunrise == 0);
    CHECK(parts.of(0, *sun.sunrise + milliseconds(90'000)).minutes_from_sunrise == 1.5);
    CHECK(parts.of(0, *sun.sunrise - hours(5)).minutes_from_sunrise == -300);
    // Before midnight the next sunrise is nearer, yet the date's own counts.
    CHECK(parts.of(0, Zone::named("Asia/Kuching").to_utc(local("2031-05-04 23:59")))
              .minutes_from_sunrise > 1000);
}

TEST_CASE("every instant of a year is in exactly one built-in window") {
    for (const auto& [latitude, zone] : {std::pair{1.55, "Asia/Kuching"},
                                         {48.2, "Europe/Vienna"},
                                         {69.65, "Europe/Oslo"},
                                         {78.2, "Arctic/Longyearbyen"},
                                         {-67.6, "Antarctica/Rothera"}}) {
        const double longitude = std::string(zone) == "Asia/Kuching"         ? 110.3
                                 : std::string(zone) == "Antarctica/Rothera" ? -68.1
                                                                             : 16;
        const Survey survey = survey_at(latitude, longitude, zone);
        const DayParts parts(survey);
        for (Instant at = utc("2031-01-01 00:00"); at < utc("2032-01-02 00:00");
             at += minutes(17)) {
            INFO(zone << ' ' << format_iso(at, parts.zone()));
            CHECK(parts.of(0, at).window >= 0);
        }
    }
}

TEST_CASE("polar dates are all day or all night, and have no dawn") {
    const Survey survey = survey_at(78.2, 15.6, "Arctic/Longyearbyen");
    CHECK(window_at(survey, "2031-06-21 00:00") == "day 2031-06-21");
    CHECK(window_at(survey, "2031-06-21 23:59") == "day 2031-06-21");
    CHECK(window_at(survey, "2031-12-21 12:00") == "night 2031-12-21");
    CHECK(window_at(survey, "2031-12-21 00:00") == "night 2031-12-21");
    const DayParts parts(survey);
    CHECK(!parts.span(0, date("2031-06-21"), 0));
    CHECK(!parts.span(0, date("2031-12-21"), 1));
    CHECK(is_missing(parts.of(0, utc("2031-12-21 12:00")).minutes_from_sunrise));
}

TEST_CASE("the repeated hour at the end of daylight saving is one hour of the local clock") {
    const Survey survey = survey_at(48.2, 16.4, "Europe/Vienna");
    const DayParts parts(survey);
    int segments = 0;
    for (Instant at = utc("2031-10-25 22:00"); at < utc("2031-10-26 23:00"); at += minutes(1)) {
        const DayPart part = parts.of(0, at);
        CHECK(format_date(part.date) == "2031-10-26");
        segments += part.hour == 2;
    }
    CHECK(segments == 120);
    CHECK(parts.of(0, utc("2031-03-30 00:59")).hour == 1);
    CHECK(parts.of(0, utc("2031-03-30 01:00")).hour == 3);
}

TEST_CASE("windows of clock times cross midnight and belong to the date they begin in") {
    Survey survey = kuching();
    survey.windows = {clock_window("late", "22:00", "04:00"),
                      clock_window("noon", "11:30", "12:30"),
                      clock_window("whole", "00:00", "24:00")};
    CHECK(window_at(survey, "2031-05-04 21:59:59.999") == "whole 2031-05-04");
    CHECK(window_at(survey, "2031-05-04 22:00") == "late 2031-05-04");
    CHECK(window_at(survey, "2031-05-05 03:59") == "late 2031-05-04");
    CHECK(window_at(survey, "2031-05-05 04:00") == "whole 2031-05-05");
    CHECK(window_at(survey, "2031-05-05 12:29") == "noon 2031-05-05");
    CHECK(window_at(survey, "2031-12-31 23:00") == "late 2031-12-31");
    CHECK(window_at(survey, "2032-01-01 01:00") == "late 2031-12-31");
}

TEST_CASE("windows mix clock and sun, and where none holds there is none") {
    Survey survey = kuching();
    survey.windows = {clock_window("frogs", "sunset+30min", "22:00"),
                      clock_window("deep", "sunset+180min", "sunrise-120min")};
    CHECK(window_at(survey, "2031-05-04 18:40") == "none");
    CHECK(window_at(survey, "2031-05-04 19:30") == "frogs 2031-05-04");
    CHECK(window_at(survey, "2031-05-04 22:00") == "deep 2031-05-04");
    CHECK(window_at(survey, "2031-05-05 02:00") == "deep 2031-05-04");
    CHECK(window_at(survey, "2031-05-05 05:00") == "none");
    CHECK(DayParts(survey).of(0, utc("2031-05-04 04:00")).window == -1);
}

TEST_CASE("windows of a night with a change of clocks keep to the clock") {
    Survey survey = survey_at(48.2, 16.4, "Europe/Vienna");
    survey.windows = {clock_window("late", "22:00", "04:00")};
    const DayParts parts(survey);
    const auto span = parts.span(0, date("2031-03-29"), 0);
    REQUIRE(span);
    CHECK(span->to - span->from == hours(5));
    const auto autumn = parts.span(0, date("2031-10-25"), 0);
    CHECK(autumn->to - autumn->from == hours(7));
}

TEST_CASE("two million segments of forty sites, from several threads, get equal answers") {
    Survey survey = kuching();
    survey.sites.resize(40, survey.sites[0]);
    const DayParts parts(survey);
    const Instant first = utc("2031-01-01 00:00");
    const auto sum_of = [&](int lane) {
        double sum = 0;
        for (std::size_t site = 0; site < survey.sites.size(); ++site)
            for (int minute = lane; minute < 50'000; minute += 2) {
                const DayPart part = parts.of(site, first + minutes(minute));
                sum += part.window + part.hour + part.minutes_from_sunrise;
            }
        return sum;
    };
    double even = 0, odd = 0;
    std::thread other([&] { odd = sum_of(1); });
    even = sum_of(0);
    other.join();
    CHECK(even == sum_of(0));
    CHECK(odd == sum_of(1));
    CHECK(even != odd);
}

TEST_CASE("window edges as text, there and back") {
    for (const char* text :
         {"22:00", "00:00", "24:00", "sunrise", "sunset", "sunrise-60min", "sunset+720min"})
        CHECK(format_window_edge(parse_window_edge(text).value()) == text);
    CHECK(format_window_edge(parse_window_edge(" Sunrise + 120 min ").value()) == "sunrise+120min");
    CHECK(format_window_edge(parse_window_edge("6:30").value()) == "06:30");
    CHECK(format_window_edge(parse_window_edge("sunset-0min").value()) == "sunset");
    for (const char* text :
         {"", "noon", "25:00", "24:01", "12:60", "sunrise60min", "sunrise+", "sunrise+721min",
          "sunrise+1h", "sunrise+-5min", "sunrise+ min", "22", "-1:00", "sunrise-60minutes"}) {
        INFO(text);
        CHECK(!parse_window_edge(text));
    }
}

TEST_CASE("quarters count from the sun's event of the window, else on the local clock") {
    Survey survey = kuching();
    const DayParts parts(survey);
    const SunTimes sun = parts.sun(0, date("2031-05-04"));
    const auto quarter = [](const DayParts& days, Instant at) { return days.of(0, at).quarter; };
    CHECK(quarter(parts, *sun.sunrise - hours(1)) == -4);
    CHECK(quarter(parts, *sun.sunrise - milliseconds(1)) == -1);
    CHECK(quarter(parts, *sun.sunrise) == 0);
    CHECK(quarter(parts, *sun.sunrise + minutes(120)) == 8);  // day: from sunrise as well
    CHECK(quarter(parts, *sun.sunset - minutes(60)) == -4);   // dusk: from sunset
    // A night counts on from the sunset of its evening, over midnight.
    CHECK(quarter(parts, *sun.sunset + minutes(8 * 60 + 14)) == 32);

    survey.windows = {clock_window("late", "22:00", "04:00"),
                      clock_window("wait", "04:00", "sunrise"),
                      clock_window("rest", "sunset-30min", "22:00")};
    const DayParts others(survey);
    const Zone zone = Zone::named("Asia/Kuching");
    CHECK(quarter(others, zone.to_utc(local("2031-05-04 23:50"))) == 95);
    CHECK(quarter(others, zone.to_utc(local("2031-05-05 00:14"))) == 0);
    CHECK(quarter(others, *sun.sunrise - minutes(20)) == -2);  // before the sunrise that ends it
    CHECK(quarter(others, *sun.sunset - minutes(20)) == -2);
}

TEST_CASE("where the sun does not do what a window hangs on its quarters go by the clock") {
    const DayParts parts(survey_at(78.2, 15.6, "Arctic/Longyearbyen"));
    CHECK(parts.of(0, utc("2031-06-21 10:05")).quarter == 12 * 4);  // summer time: 12:05
    CHECK(parts.of(0, utc("2031-12-21 11:05")).quarter == 12 * 4);
}
