// Zone rules are those of the IANA data on the machine; the instants below are from published rules
// of those zones (from memory): the European Union changes at 01:00 UTC on the last Sundays of
// March and October, the United States at 02:00 local time on the second Sunday of March and the
// first of November, Lord Howe by half an hour, Kuching never.
#include "survey/zone.h"

#include <catch2/catch.hpp>
#include <thread>

#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;
using Fit = Zone::Fit;

namespace {

std::string there(const char* instant, const char* zone) {
    return format_iso(utc(instant), Zone::named(zone));
}
std::string back(const char* time, const char* zone) {
    return format_iso(Zone::named(zone).to_utc(local(time)), Zone());
}

}  // namespace

TEST_CASE("a zone without daylight saving is a constant offset") {
    CHECK(there("2031-05-03 21:40", "Asia/Kuching") == "2031-05-04T05:40:00+08:00");
    CHECK(there("2031-12-31 16:00", "Asia/Kuching") == "2032-01-01T00:00:00+08:00");
    CHECK(back("2032-01-01 00:00", "Asia/Kuching") == "2031-12-31T16:00:00Z");
    CHECK(there("2031-05-03 21:40:07.250", "UTC") == "2031-05-03T21:40:07.250Z");
    CHECK(there("2031-05-03 21:40", "-03:30") == "2031-05-03T18:10:00-03:30");
}

TEST_CASE("clocks that change in spring skip an hour: such a time is moved on by it") {
    const Zone vienna = Zone::named("Europe/Vienna");
    CHECK(vienna.fit(local("2031-03-30 02:30")) == Fit::nonexistent);
    CHECK(vienna.fit(local("2031-03-30 01:59:59.999")) == Fit::unique);
    CHECK(vienna.fit(local("2031-03-30 03:00")) == Fit::unique);
    CHECK(back("2031-03-30 01:59", "Europe/Vienna") == "2031-03-30T00:59:00Z");
    CHECK(back("2031-03-30 02:30", "Europe/Vienna") == "2031-03-30T01:30:00Z");  // 03:30 there
    CHECK(back("2031-03-30 03:00", "Europe/Vienna") == "2031-03-30T01:00:00Z");
    CHECK(there("2031-03-30 00:59:59", "Europe/Vienna") == "2031-03-30T01:59:59+01:00");
    CHECK(there("2031-03-30 01:00", "Europe/Vienna") == "2031-03-30T03:00:00+02:00");
}

TEST_CASE("clocks that change in autumn show an hour twice: the earlier is taken") {
    const Zone vienna = Zone::named("Europe/Vienna");
    CHECK(vienna.fit(local("2031-10-26 02:30")) == Fit::ambiguous);
    CHECK(vienna.fit(local("2031-10-26 03:00")) == Fit::unique);
    CHECK(back("2031-10-26 02:30", "Europe/Vienna") == "2031-10-26T00:30:00Z");
    CHECK(there("2031-10-26 00:30", "Europe/Vienna") == "2031-10-26T02:30:00+02:00");
    CHECK(there("2031-10-26 01:30", "Europe/Vienna") == "2031-10-26T02:30:00+01:00");
    CHECK(back("2031-11-02 01:30", "America/New_York") == "2031-11-02T05:30:00Z");
    CHECK(Zone::named("Australia/Lord_Howe").fit(local("2031-10-05 02:15")) == Fit::nonexistent);
    CHECK(back("2031-10-05 02:15", "Australia/Lord_Howe") == "2031-10-04T15:45:00Z");
}

TEST_CASE("a zone that jumped over a whole day") {
    // Samoa went from 29 to 31 December 2011.
    CHECK(Zone::named("Pacific/Apia").fit(local("2011-12-30 12:00")) == Fit::nonexistent);
    CHECK(there("2011-12-30 09:59:59", "Pacific/Apia") == "2011-12-29T23:59:59-10:00");
    CHECK(there("2011-12-30 10:00", "Pacific/Apia") == "2011-12-31T00:00:00+14:00");
}

TEST_CASE("every local time goes there and back, a millisecond each side of a change too") {
    for (const char* name : {"Asia/Kuching", "Europe/Vienna", "America/St_Johns", "Pacific/Apia",
                             "Africa/Casablanca"}) {
        const Zone zone = Zone::named(name);
        for (Instant at = utc("2029-12-31 00:00"); at < utc("2032-01-02 00:00");
             at += std::chrono::milliseconds(1'799'999)) {
            const auto [time, offset] = zone.to_local(at);
            INFO(name << ' ' << format_local(time));
            if (zone.fit(time) == Fit::unique)
                CHECK(zone.to_utc(time) == at);
            else
                CHECK(zone.to_utc(time) <= at);
        }
    }
}

TEST_CASE("names that are no zones are refused, with the nearest") {
    for (const char* name :
         {"", "Asia/Kuchng", "asia/kuching", "localtime", "right/Asia/Kuching", "../etc/passwd",
          "+24:00", "+8", "08:00", "+08:0", "+08:00x", "UTC+8"}) {
        INFO(name);
        CHECK(!Zone::find(name));
    }
    CHECK(zone_fix("Asia/Kuchng") == "did you mean 'Asia/Kuching'?");
    CHECK(zone_fix("asia/kuching") == "did you mean 'Asia/Kuching'?");
    CHECK(zone_fix("Jungle time, more or less") ==
          "write an IANA name such as Asia/Kuching, UTC, or an offset such as +08:00");
    CHECK_THROWS_AS(Zone::named("Asia/Kuchng"), InputError);
    for (const auto& [name, seconds] :
         {std::pair{"+08:00", 28'800}, {"-0330", -12'600}, {"+08", 28'800}, {"Z", 0}, {"UTC", 0}})
        CHECK(Zone::find(name)->to_local(Instant{}).offset.count() == seconds);
    CHECK(Zone::find("+0530")->name() == "+05:30");
    CHECK(Zone::find("-00:30")->name() == "-00:30");
}

TEST_CASE("zones are found and read from many threads at once") {
    std::vector<std::thread> threads;
    std::vector<std::string> results(8);
    for (std::string& result : results)
        threads.emplace_back([&result] { result = there("2031-07-01 00:00", "Europe/Vienna"); });
    for (std::thread& thread : threads) thread.join();
    for (const std::string& result : results) CHECK(result == "2031-07-01T02:00:00+02:00");
}
