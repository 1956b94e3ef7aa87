#include <catch2/catch.hpp>

#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;
using Lines = std::vector<std::string>;

TEST_CASE("a survey in order loads without a word") {
    const SheetTexts texts;
    CHECK(texts.problems() == Lines{});
}
