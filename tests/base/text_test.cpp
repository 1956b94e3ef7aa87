#include "base/text.h"

#include <catch2/catch.hpp>
#include <clocale>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <string>

#include "base/error.h"
#include "temporary_folder.h"

using namespace hearwood;

TEST_CASE("numbers are read whole or not at all") {
    CHECK(parse_number(" -3.25 ") == -3.25);
    CHECK(parse_number("+1e-9") == 1e-9);
    for (const char* bad :
         {"", " ", "1,5", "1.5m", "nan", "inf", "0x10", "--1", "+-1", "1 2", "1e999"})
        CHECK_FALSE(parse_number(bad).has_value());
    CHECK(parse_integer("42") == 42);
    CHECK_FALSE(parse_integer("4.2").has_value());
    CHECK_FALSE(parse_integer("99999999999999999999").has_value());
}

TEST_CASE("written numbers read back as the same double, in any locale") {
    // One whose decimal mark is a comma.
    const testing::TemporaryFolder folder;
    const std::string locale = (folder.path() / "de_DE.UTF-8").string();
    REQUIRE(std::system(("localedef -i de_DE -f UTF-8 '" + locale + "'").c_str()) == 0);
    setenv("LOCPATH", folder.path().c_str(), 1);
    REQUIRE(std::setlocale(LC_ALL, "de_DE.UTF-8"));
    REQUIRE(std::string(std::localeconv()->decimal_point) == ",");
    for (const double value : {0.1, 1.0 / 3, 1e-300, 123456789.125, -2.5e17, 5e-324}) {
        CHECK(parse_number(format_number(value)) == value);
    }
    CHECK(format_number(-0.0) == "0");
    CHECK(format_number(std::nan("")).empty());
    CHECK(format_number(std::numeric_limits<double>::infinity()) == "inf");
    std::setlocale(LC_ALL, "C");
    unsetenv("LOCPATH");
}

TEST_CASE("numbers for people have three significant digits and a true minus sign") {
    CHECK(readable_number(0) == "0");
    CHECK(readable_number(4.0499) == "4.05");
    CHECK(readable_number(9.996) == "10.0");
    CHECK(readable_number(1234.5) == "1230");
    CHECK(readable_number(0.0123456) == "0.0123");
    CHECK(readable_number(-18.62) == "−18.6");
    CHECK(readable_number(2.5e-7) == "2.50e-07");
    CHECK(readable_number(std::nan("")) == "n/a");
}

TEST_CASE("no file name can drive a terminal") {
    CHECK(printable("a\x1b[2Jb\n") == "a\\x1B[2Jb\\x0A");
    CHECK(printable("na\xc3\xafve \xf0\x9f\x8c\xb3") == "na\xc3\xafve \xf0\x9f\x8c\xb3");
    CHECK(printable("x\xff\xc0\xaf") == "x\\xFF\\xC0\\xAF");
    CHECK(printable("a\xe2\x80\xae"
                    "b") == "a\\u{202E}b");
    CHECK(printable("\xc2\x9b") == "\\x9B");
}

TEST_CASE("UTF-8 is judged after table 3-7 of the Unicode standard") {
    CHECK(is_utf8("\xed\x9f\xbf"));
    CHECK_FALSE(is_utf8("\xed\xa0\x80"));      // surrogate
    CHECK_FALSE(is_utf8("\xe0\x80\xaf"));      // overlong
    CHECK_FALSE(is_utf8("\xf4\x90\x80\x80"));  // above U+10FFFF
    CHECK_FALSE(is_utf8("\xc3"));              // cut
}

TEST_CASE("names survive the way into text and back") {
    for (const std::string name :
         {"plain.wav", "back\\slash", "bad\xff\xfe.wav", "\\x41", "caf\xc3\xa9", "\\"}) {
        CHECK(name_from_utf8(name_to_utf8(name)) == name);
        CHECK(is_utf8(name_to_utf8(name)));
    }
    CHECK(name_to_utf8("\\xFF") != name_to_utf8("\xff"));
}

TEST_CASE("near spellings are offered, far ones are not") {
    const std::vector<std::string> keys{"segment_s", "frame", "hop"};
    CHECK(nearest("segment", keys) == "segment_s");
    CHECK(nearest("farme", keys) == "frame");
    CHECK_FALSE(nearest("colour", keys).has_value());
}

TEST_CASE("small text tools") {
    CHECK(split("a,,b", ',') == std::vector<std::string>{"a", "", "b"});
    CHECK(join(std::vector<std::string>{"a", "b"}, "; ") == "a; b");
    CHECK(grouped(1234567) == "1,234,567");
    CHECK(grouped(-123) == "-123");
    CHECK(grouped(1000) == "1,000");
    CHECK(escape_html("<a href='x'>\"&") == "&lt;a href=&#39;x&#39;&gt;&quot;&amp;");
}

TEST_CASE("a problem is one line that says where, what and the fix") {
    const Problem problem{.file = "sites.csv",
                          .line = 4,
                          .column = 2,
                          .field = "latitude",
                          .value = "99\n",
                          .what = "latitudes run from -90 to 90",
                          .fix = "check for swapped columns"};
    CHECK(one_line(problem) ==
          "sites.csv:4:2 (latitude) '99\\x0A': latitudes run from -90 to 90; check for swapped "
          "columns");
    const Problem sentence{
        .file = "recordings", .what = "Two sample rates.", .fix = "Leave one out."};
    CHECK(one_line(sentence) == "recordings: Two sample rates. Leave one out.");
}
