// The order of the clips on a listening sheet.
#include "listen/playing_order.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <set>

#include "statistics/random.h"

using namespace hearwood;

TEST_CASE("a repeat comes at least a third of the sheet after the first time", "[listen]") {
    const std::size_t count = GENERATE(0, 1, 2, 5, 24, 60, 61);
    const std::size_t repeats = GENERATE(0, 1, 6, 1000);
    CAPTURE(count, repeats);
    std::set<std::vector<std::size_t>> orders;
    for (std::uint64_t seed = 0; seed < 100; ++seed) {
        Random random(seed);
        const std::vector<std::size_t> order = playing_order(count, repeats, random);
        REQUIRE(order.size() == count + std::min(repeats, count / 2));
        for (std::size_t place = 0; place < count; ++place) {
            const auto first = std::find(order.begin(), order.end(), place);
            REQUIRE(first != order.end());
            const auto again = std::find(first + 1, order.end(), place);
            if (again == order.end()) continue;
            REQUIRE(place < count / 2);
            REQUIRE(again - first > std::ptrdiff_t(order.size() / 3));
            REQUIRE(std::find(again + 1, order.end(), place) == order.end());
        }
        orders.insert(order);
    }
    // Where there is a choice it is not always the same.
    CHECK((orders.size() > 1) == (repeats > 0 && count >= 5));
}
