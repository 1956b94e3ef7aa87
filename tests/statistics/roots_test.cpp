#include "statistics/roots.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <vector>

using namespace hearwood;

namespace {

std::vector<double> roots(const std::array<double, 5>& c) {
    const SignChanges changes = sign_changes(c);
    return {changes.at.begin(), changes.at.begin() + changes.count};
}

}  // namespace

TEST_CASE("roots of products that can be multiplied out by hand") {
    // (x - 1)(x - 2)(x + 3)(x - 0.5) = x^4 - 0.5 x^3 - 7 x^2 + 9.5 x - 3
    const std::vector<double> four = roots({-3, 9.5, -7, -0.5, 1});
    REQUIRE(four.size() == 4);
    CHECK(four[0] == Approx(-3).epsilon(1e-13));
    CHECK(four[1] == Approx(0.5).epsilon(1e-13));
    CHECK(four[2] == Approx(1).epsilon(1e-13));
    CHECK(four[3] == Approx(2).epsilon(1e-13));
    CHECK(roots({-6, 1, 1, 0, 0}) == std::vector<double>{-3, 2});
    CHECK(roots({3, -2, 0, 0, 0}) == std::vector<double>{1.5});
}

TEST_CASE("no roots, and roots that only touch") {
    CHECK(roots({1, 0, 0, 0, 1}).empty());
    CHECK(roots({0, 0, 1, 0, 0}).empty());
    CHECK(roots({5, 0, 0, 0, 0}).empty());
    CHECK(roots({0, 0, 0, 0, 0}).empty());
    // -(x^2)(x - 4): touches at 0, changes at 4.
    const std::vector<double> one = roots({0, 0, 4, -1, 0});
    REQUIRE(one.size() == 1);
    CHECK(one[0] == Approx(4));
}

TEST_CASE("roots of very different sizes") {
    // (x - 1e-6)(x - 1e6)
    const std::vector<double> two = roots({1, -(1e6 + 1e-6), 1, 0, 0});
    REQUIRE(two.size() == 2);
    CHECK(two[0] == Approx(1e-6).epsilon(1e-9));
    CHECK(two[1] == Approx(1e6).epsilon(1e-12));
}

TEST_CASE("how many roots lie above a place is bounded by signs there") {
    // -(x + 1)(x + 2)(x - 3)(x + 0.5) is 0 at 3 only, above 0.
    const std::array<double, 5> one{3, 9.5, 7, -0.5, -1};
    CHECK(most_roots_above(one, 0) == 1);
    CHECK(most_roots_above(one, 2.9) == 1);
    CHECK(most_roots_above(one, 3.1) == 0);
    CHECK(value_at(one, 2) == 3 + 19 + 28 - 4 - 16);
    CHECK(value_at(one, 3) == 0);
    // (x - 1)(x - 2)(x - 3)(x - 4): four above 0, two above 2.4, none above 5.
    const std::array<double, 5> four{24, -50, 35, -10, 1};
    CHECK(most_roots_above(four, 0) == 4);
    CHECK(most_roots_above(four, 2.4) == 2);
    CHECK(most_roots_above(four, 5) == 0);
    // x^4 + 1 has none; the signs at -1 cannot tell.
    CHECK(most_roots_above({1, 0, 0, 0, 1}, -1) == 4);
    CHECK(most_roots_above({1, 0, 0, 0, 1}, 0) == 0);
    CHECK(most_roots_above({0, 0, 0, 0, 0}, 1) == 0);
}
