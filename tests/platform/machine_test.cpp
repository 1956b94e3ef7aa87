#include "platform/machine.h"

#include <catch2/catch.hpp>

using namespace hearwood;

TEST_CASE("a kernel that is too old is named, with what is needed") {
    CHECK(missing_of_kernel("2.6.32-754.el6.x86_64") ==
          "Linux 3.2 or later is needed, and this is 2.6.32-754.el6.x86_64");
    CHECK(missing_of_kernel("3.1.10") == "Linux 3.2 or later is needed, and this is 3.1.10");
    for (const char* enough :
         {"3.2.0-4-amd64", "3.10.0-1160.el7", "4.19", "6.1.0-13-amd64", "10.0"})
        CHECK(missing_of_kernel(enough).empty());
}

TEST_CASE("a release that is no number stops nobody") {
    for (const char* odd : {"", "3", "new", "3.", "3.x", ".1"})
        CHECK(missing_of_kernel(odd).empty());
}

TEST_CASE("this machine is not too old: the test runs on it") {
    CHECK(missing_of_machine().empty());
}
