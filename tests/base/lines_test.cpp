#include "base/lines.h"

#include <catch2/catch.hpp>

#include "base/text.h"

using namespace hearwood;

TEST_CASE("lines end between words at column 80, counted in characters") {
    const std::string eighty(80, 'x');
    CHECK(wrapped(eighty) == eighty + "\n");
    CHECK(wrapped(std::string(79, 'x') + " y") == std::string(79, 'x') + "\ny\n");
    CHECK(wrapped(std::string(78, 'x') + " y") == std::string(78, 'x') + " y\n");
    std::string wide;  // 78 characters of two bytes each
    for (int i = 0; i < 78; ++i) wide += "\u00E9";
    CHECK(characters(wide) == 78);
    CHECK(wrapped(wide + " y") == wide + " y\n");
    CHECK(wrapped("") == "\n");
}

TEST_CASE("further lines are indented, spaces in front stay, a long word stays whole") {
    const std::string half(50, 'x');
    CHECK(wrapped(half + ' ' + half, 3) == half + "\n   " + half + "\n");
    CHECK(list_entry(half + ' ' + half) == "  " + half + "\n    " + half + "\n");
    CHECK(list_entry(half + ' ' + half, 4) == "    " + half + "\n      " + half + "\n");
    CHECK(wrapped(std::string(77, 'x') + " 34 %: y") == std::string(77, 'x') + "\n34 %: y\n");
    const std::string path(120, 'p');
    CHECK(list_entry("at " + path + " it ends") == "  at\n    " + path + "\n    it ends\n");
}

TEST_CASE("columns are padded and cut by characters, not bytes") {
    CHECK(first_characters("überall", 1) == "ü");
    CHECK(first_characters("überall", 7) == "überall");
    CHECK(first_characters("überall", 0).empty());
    CHECK(left(first_characters("übü", 2), 4) == "üb  ");
    CHECK(right("−1", 4) == "  −1");
    CHECK(cut("überall", 4) == "übe…");
    CHECK(cut("über", 4) == "über");
}

TEST_CASE("counts read as words of one and of many") {
    CHECK(counted(0, "recording") == "0 recordings");
    CHECK(counted(1, "recording") == "1 recording");
    CHECK(counted(1234, "recording") == "1,234 recordings");
    CHECK(counted(1, "file is", "files are") == "1 file is");
    CHECK(counted(2, "file is", "files are") == "2 files are");
}
