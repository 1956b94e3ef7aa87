#include "statistics/ending.h"

#include <catch2/catch.hpp>
#include <limits>

using namespace hearwood;

TEST_CASE("an ending follows from both intervals, in the order of precedence") {
    struct Case {
        Interval wide, narrow;
        bool shown;
        Ending wanted;
    };
    const double inf = std::numeric_limits<double>::infinity();
    for (const Case& c : {Case{{10.1, 20}, {11, 19}, true, Ending::more},
                          {{-20, -10.5}, {-19, -11}, true, Ending::more},
                          {{10, 20}, {11, 19}, true, Ending::some},          // touches 10
                          {{10.1, 20}, {11, 19}, false, Ending::undecided},  // unequal spread
                          {{1, 9}, {2, 8}, true, Ending::smaller},           // though 0 is excluded
                          {{-11, 9}, {-10, 8}, false, Ending::smaller},      // ends included
                          {{-11, 12}, {-9, 10 * (1 + 1e-15)}, false, Ending::smaller},
                          {{1, 12}, {2, 11}, true, Ending::some},
                          {{-3, 12}, {-2, 11}, false, Ending::undecided},
                          {{-inf, inf}, {-inf, inf}, false, Ending::undecided}})
        CHECK(ending_of(c.wide, c.narrow, c.shown, 10) == c.wanted);
    const double none = std::numeric_limits<double>::quiet_NaN();
    CHECK_FALSE(ending_of({none, none}, {none, none}, false, 10));
    CHECK(std::string(name_of(Ending::smaller)) == "smaller");
}
