#include "audio/start_time.h"

#include <catch2/catch.hpp>
#include <cstdio>

#include "base/error.h"

using namespace hearwood;
using namespace std::chrono;

namespace {

std::string text_of(const std::optional<RecordedStart>& start) {
    if (!start) return "none";
    const auto day = floor<days>(start->wall);
    const year_month_day date{day};
    const hh_mm_ss time{start->wall - day};
    char text[64];
    std::snprintf(text, sizeof text, "%04d-%02u-%02u %02d:%02d:%02d", static_cast<int>(date.year()),
                  static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()),
                  static_cast<int>(time.hours().count()), static_cast<int>(time.minutes().count()),
                  static_cast<int>(time.seconds().count()));
    std::string result = text;
    if (time.subseconds().count() != 0) result += "." + std::to_string(time.subseconds().count());
    if (start->utc_offset) result += " " + std::to_string(start->utc_offset->count());
    return result;
}

std::string built_in(std::string_view name) {
    return text_of(StartTimeReader().from_name(name));
}

std::string own(const std::string& pattern, std::string_view name) {
    return text_of(StartTimeReader(pattern).from_name(name));
}

std::string refusal(const std::string& pattern) {
    try {
        StartTimeReader reader(pattern);
    } catch (const InputError& error) {
        return error.problems().at(0).what;
    }
    return "";
}

}  // namespace

TEST_CASE("built-in patterns of names") {
    CHECK(built_in("LT04_20260314_053000.wav") == "2026-03-14 05:30:00");
    CHECK(built_in("20260314T053000.wav") == "2026-03-14 05:30:00");
    CHECK(built_in("LT04_20260313T213000Z.wav") == "2026-03-13 21:30:00 0");
    CHECK(built_in("20260314T053000+0800.flac") == "2026-03-14 05:30:00 480");
    CHECK(built_in("20260314T053000+08:00.flac") == "2026-03-14 05:30:00 480");
    CHECK(built_in("20260314_053000+08.wav") == "2026-03-14 05:30:00 480");
    CHECK(built_in("20260314T053000-0330.wav") == "2026-03-14 05:30:00 -210");
    CHECK(built_in("heath-2026-03-14_05-30-00.wav") == "2026-03-14 05:30:00");
    CHECK(built_in("2026-03-14T05:30:00+08:00.wav") == "2026-03-14 05:30:00 480");
    CHECK(built_in("a/20250101_000000/LT04_20260314_053000.wav") == "2026-03-14 05:30:00");
    CHECK(built_in("20260314_053000_LT04.WAV") == "2026-03-14 05:30:00");
}

TEST_CASE("what only looks like a time is none") {
    CHECK(built_in("rec001.wav") == "none");
    CHECK(built_in("920260314_053000.wav") == "none");  // a longer number
    CHECK(built_in("20260314_0530001.wav") == "none");
    CHECK(built_in("20260431_053000.wav") == "none");  // 31 April
    CHECK(built_in("20260229_053000.wav") == "none");  // no leap year
    CHECK(built_in("20240229_053000.wav") == "2024-02-29 05:30:00");
    CHECK(built_in("21000228_053000.wav") == "none");
    CHECK(built_in("20000229_053000.wav") == "2000-02-29 05:30:00");  // every 400 years
    CHECK(built_in("20260314_243000.wav") == "none");
    CHECK(built_in("20260314_236000.wav") == "none");
    CHECK(built_in("00000000_000000.wav") == "none");
    CHECK(built_in("20260014_053000.wav") == "none");
    CHECK(built_in("20260314_053000-0007.wav") == "2026-03-14 05:30:00");  // a counter, no offset
    CHECK(built_in("20260314_053000Zoo.wav") == "2026-03-14 05:30:00");
    CHECK(built_in("20261399_000000_20260314_053000.wav") == "2026-03-14 05:30:00");
    CHECK(built_in("") == "none");
    CHECK(built_in("20260314_05300") == "none");
}

TEST_CASE("patterns of the survey's own") {
    CHECK(own("*_%Y-%j_%Hh%Mm%S*", "A1_2026-073_05h30m00_x.wav") == "2026-03-14 05:30:00");
    CHECK(own("*_%Y-%j_%Hh%Mm%S*", "A1_2024-366_05h30m00.wav") == "2024-12-31 05:30:00");
    CHECK(own("*_%Y-%j_%Hh%Mm%S*", "A1_2026-366_05h30m00.wav") == "none");
    CHECK(own("*_%Y-%j_%Hh%Mm%S*", "A1_2026-000_05h30m00.wav") == "none");
    CHECK(own("R%d%m%y-%H%M", "R140326-0530.wav") == "2026-03-14 05:30:00");
    CHECK(own("R%d%m%y-%H%M", "R140326-0530x.wav") == "none");
    CHECK(own("R%d%m%y-%H%M", "xR140326-0530.wav") == "none");
    CHECK(own("R%d%m%y-%H%M.wav", "R140326-0530.wav") == "2026-03-14 05:30:00");
    CHECK(own("%Y%m%d%H%M%S%z", "20260314053000+0800.wav") == "2026-03-14 05:30:00 480");
    CHECK(own("%Y%m%d %H%%", "20260314 05%.wav") == "2026-03-14 05:00:00");
    CHECK(own("*%Y%m%d*%H%M%S", "x20260314--y--053000.wav") == "2026-03-14 05:30:00");
    CHECK(own("*a*%Y%m%d_%H", "bab20260314_05.wav") == "2026-03-14 05:00:00");
    // A name that fits only the built-in patterns is not guessed at.
    CHECK(own("R%d%m%y-%H%M", "20260314_053000.wav") == "none");
}

TEST_CASE("a pattern that cannot work is refused with the fix") {
    CHECK(refusal("*%Y%m%d_%Q*") == "%Q is not known here");
    CHECK(refusal("%Y%m%d_%H%") == "ends in a single %");
    CHECK(refusal("%Y%Y%m%d_%H") == "%Y stands twice");
    CHECK(refusal("%m%d_%H") == "needs one year");
    CHECK(refusal("%Y%y%m%d_%H") == "needs one year");
    CHECK(refusal("%Y%m_%H") == "needs one day");
    CHECK(refusal("%Y%j%d_%H") == "needs one day");
    CHECK(refusal("%Y%m%d") == "needs an hour");
    CHECK(refusal("%Y%m%d_%H%S") == "has seconds but no minutes");
    CHECK(refusal("%Y%j_%H") == "");
}

TEST_CASE("a pattern of many stars on a long name is quick") {
    std::string pattern = "%Y%m%d%H", name(250, 'a');
    for (int i = 0; i < 30; ++i) pattern = "*a" + pattern;
    CHECK(own(pattern + "b", name + ".wav") == "none");
}

TEST_CASE("bext: any of the separators of EBU Tech 3285") {
    const auto read = [](const std::string& date, const std::string& time) {
        BroadcastText bext;
        bext.origination_date = date;
        bext.origination_time = time;
        return text_of(start_from_bext(bext));
    };
    CHECK(read("2026-03-14", "05:30:00") == "2026-03-14 05:30:00");
    CHECK(read("2026:03:14", "05-30-00") == "2026-03-14 05:30:00");
    CHECK(read("2026/03/14", "05:30:00") == "none");
    CHECK(read("", "") == "none");
    CHECK(read("0000-00-00", "00:00:00") == "none");
}

TEST_CASE("GUANO: the field Timestamp, ISO 8601") {
    const auto read = [](const std::string& stamp) {
        return text_of(
            start_from_guano("GUANO|Version: 1.0\r\nTimestamp: " + stamp + "\r\nSerial: 7\r\n"));
    };
    CHECK(read("2026-03-14T05:30:00") == "2026-03-14 05:30:00");
    CHECK(read("2026-03-14T05:30:00Z") == "2026-03-14 05:30:00 0");
    CHECK(read("2026-03-14T05:30:00+08:00") == "2026-03-14 05:30:00 480");
    CHECK(read("2026-03-14 05:30:00.25+08:00") == "2026-03-14 05:30:00.250 480");
    CHECK(read("2026-03-14T05:30:00.1234567Z") == "2026-03-14 05:30:00.123 0");
    CHECK(read("2026-03-14T05:30:60Z") == "2026-03-14 05:30:59 0");  // a leap second
    CHECK(read("2026-03-14") == "none");
    CHECK(read("2026-03-14T05:30:00 maybe") == "none");
    CHECK(read("") == "none");
}

TEST_CASE("the name wins over bext, bext over GUANO") {
    const StartTimeReader reader;
    Metadata metadata;
    metadata.guano = "Timestamp: 2026-03-14T05:00:00";
    CHECK(text_of(reader.start_of("a.wav", metadata)) == "2026-03-14 05:00:00");
    metadata.bext = BroadcastText{"", "", "", "2026-03-14", "06:00:00"};
    CHECK(text_of(reader.start_of("a.wav", metadata)) == "2026-03-14 06:00:00");
    CHECK(reader.start_of("a.wav", metadata)->source == StartSource::bext);
    CHECK(text_of(reader.start_of("20260314_070000.wav", metadata)) == "2026-03-14 07:00:00");
    metadata.bext->origination_date = "broken";
    CHECK(reader.start_of("a.wav", metadata)->source == StartSource::guano);
}

TEST_CASE("the prefix is what stands before the time") {
    CHECK(StartTimeReader().prefix_of("x/LT04_20260314_053000.wav") == "LT04_");
    CHECK(StartTimeReader().prefix_of("20260314_053000.wav") == "");
    CHECK(StartTimeReader().prefix_of("LT04.wav") == "");
    CHECK(StartTimeReader("*-%y%j%H").prefix_of("LT04-2607305.wav") == "LT04-");
}
