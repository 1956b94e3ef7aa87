// sun_test.py beside this file compares with ephem. Here: what holds by definition, and poles.
#include "survey/sun.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;
using State = SunTimes::State;

TEST_CASE("at sunrise and sunset the centre of the sun stands at the stated zenith angle") {
    for (const double latitude : {-60.0, -23.5, 0.0, 1.55, 45.0, 65.0})
        for (const char* day : {"2031-01-01", "2031-03-20", "2031-06-21", "2031-12-31"}) {
            const SunTimes sun = sun_times(date(day), latitude, 110.3, Zone::named("Asia/Kuching"));
            REQUIRE(sun.state == State::rises_and_sets);
            INFO(latitude << ' ' << day);
            // A millisecond of the sun's climb is at most 15 arc seconds / 1000 = 4e-6 degrees.
            CHECK(solar_zenith_degrees(*sun.sunrise, latitude, 110.3) ==
                  Approx(90.833).margin(1e-5));
            CHECK(solar_zenith_degrees(*sun.sunset, latitude, 110.3) ==
                  Approx(90.833).margin(1e-5));
        }
}

TEST_CASE("published sunrise and sunset, to their minute") {
    // United States Naval Observatory and NOAA pages, quoted from memory: Washington DC (38.9
    // N, 77.0 W), 21 June: 05:43 and 20:37 local daylight time; Greenwich on an equinox day rises
    // and sets within minutes of 06:00 and 18:00.
    const Zone zone = Zone::named("America/New_York");
    const SunTimes sun = sun_times(date("2031-06-21"), 38.9, -77.03, zone);
    const auto minute = [&](Instant at) {
        return format_clock(zone.to_local(at + std::chrono::seconds(30)).time);
    };
    CHECK(minute(*sun.sunrise) == "05:43");
    CHECK(minute(*sun.sunset) == "20:37");
}

TEST_CASE("the day belongs to the local date, whatever the date in Greenwich") {
    const SunTimes kuching =
        sun_times(date("2032-01-01"), 1.55, 110.34, Zone::named("Asia/Kuching"));
    CHECK(*kuching.sunrise > utc("2031-12-31 22:00"));
    CHECK(*kuching.sunrise < utc("2031-12-31 23:00"));
    CHECK(*kuching.sunset > utc("2032-01-01 10:00"));
    const SunTimes same = sun_times(date("2032-01-01"), 1.55, 110.34, Zone::named("+08:00"));
    CHECK(same.sunrise == kuching.sunrise);
}

TEST_CASE("dates follow one another without gaps or repeats, daylight saving or not") {
    for (const char* name : {"America/New_York", "Asia/Kuching"}) {
        const Zone zone = Zone::named(name);
        Instant before = *sun_times(date("2030-12-31"), 40, -74, zone).sunrise;
        for (auto day = date("2031-01-01"); day <= date("2032-01-01");
             day += std::chrono::days(1)) {
            const Instant now = *sun_times(day, 40, -74, zone).sunrise;
            INFO(format_date(day));
            // At 40 degrees sunrise shifts by less than 2 minutes a day.
            CHECK(std::chrono::abs(now - before - std::chrono::hours(24)) <
                  std::chrono::minutes(2));
            before = now;
        }
    }
}

TEST_CASE("polar day and night are states") {
    const Zone zone = Zone::named("Arctic/Longyearbyen");
    const auto state = [&](const char* day) {
        return sun_times(date(day), 78.2, 15.6, zone).state;
    };
    CHECK(state("2031-06-21") == State::always_up);
    CHECK(state("2031-12-21") == State::always_down);
    CHECK(state("2031-03-20") == State::rises_and_sets);
    CHECK(!sun_times(date("2031-06-21"), 78.2, 15.6, zone).sunrise);
    for (const double pole : {90.0, -90.0})
        for (auto day = date("2031-01-01"); day < date("2032-01-01"); day += std::chrono::days(1)) {
            const SunTimes sun = sun_times(day, pole, 0, Zone());
            CHECK((sun.state == State::rises_and_sets) == sun.sunrise.has_value());
        }
}
