#include "base/wall_time.h"

#include <catch2/catch.hpp>

using namespace hearwood;

TEST_CASE("times as text, and what is none") {
    CHECK(format_local(parse_local_time("2031-05-04 05:40").value()) == "2031-05-04T05:40:00");
    CHECK(parse_local_time("2031-05-04 5:40") == parse_local_time("2031-05-04 05:40"));
    CHECK_FALSE(parse_local_time("2031-05-04 5"));
    CHECK(format_local(parse_local_time("2031-05-04T05:40:09.5").value()) ==
          "2031-05-04T05:40:09.500");
    CHECK(format_clock(parse_local_time("2031-05-04 05:40:59.999").value()) == "05:40");
    CHECK(format_date(parse_date("2032-02-29").value()) == "2032-02-29");
    CHECK(format_local(parse_local_time("1960-01-01 00:00:00.001").value()) ==
          "1960-01-01T00:00:00.001");
    // What the database has comes back to the letter.
    for (const char* text : {"2024-02-29T23:59:59", "1999-12-31T00:00:00.001"})
        CHECK(format_local(parse_local_time(text).value()) == text);
    for (const char* text :
         {"", "2031-05-04", "2031-02-29 05:40", "2031-13-01 05:40", "2031-05-04 24:00",
          "2031-05-04 05:60", "04/05/2031 05:40", "2031-5-4 5:40", "2031-05-04 05:40+08:00",
          "2031-05-04 05:40Z", "2031-05-04 05:40:00.1234", "1899-12-31 00:00",
          "2031-05-04 05:40 pm", "2031-05-04 05:40:"}) {
        INFO(text);
        CHECK(!parse_local_time(text));
    }
    CHECK(!parse_date("2031-04-31"));
}
