#include "platform/standard_gaps.h"

#include <array>
#include <bit>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <limits>
#include <random>
#include <string_view>

using namespace hearwood;

namespace {

std::string by_the_library(double value) {
    std::array<char, 64> text{};
    const auto end = std::to_chars(text.data(), text.data() + text.size(), value).ptr;
    return {text.data(), end};
}

void require_same_reading(std::string_view text) {
    CAPTURE(text);
    double ours = 7, theirs = 7;
    const char *first = text.data(), *last = text.data() + text.size();
    const auto own = read_double_by_c(first, last, ours);
    const auto its = std::from_chars(first, last, theirs);
    CHECK(own.ec == its.ec);
    CHECK(own.ptr - first == its.ptr - first);
    CHECK(std::bit_cast<std::uint64_t>(ours) == std::bit_cast<std::uint64_t>(theirs));
}

}  // namespace

TEST_CASE("numbers written by the C library are the shortest that std::to_chars writes") {
    std::mt19937_64 random(20310504);
    for (int i = 0; i < 200'000; ++i) {
        const auto value = std::bit_cast<double>(random());
        if (std::isfinite(value)) REQUIRE(shortest_text_by_c(value) == by_the_library(value));
    }
    std::uniform_real_distribution<double> usual(-2000, 2000);
    for (int i = 0; i < 200'000; ++i) {
        const double value = usual(random), rounded = std::round(value * 1000) / 1000;
        REQUIRE(shortest_text_by_c(value) == by_the_library(value));
        REQUIRE(shortest_text_by_c(rounded) == by_the_library(rounded));
    }
    for (const double value :
         {0.0, -0.0, 1.0, 0.1, 1e5, 123456.0, 1e-4, 1e-5, 1e-9, 1e15, 1e16, 1e22, 1e23, 5e-324,
          1.7976931348623157e308, 9007199254740993.0, std::numeric_limits<double>::infinity()})
        CHECK(shortest_text_by_c(value) == by_the_library(value));
}

TEST_CASE("numbers read by the C library are those that std::from_chars reads") {
    for (const char* text : {"",
                             "-",
                             "+1",
                             "--1",
                             "-+1",
                             "1",
                             "-1.5",
                             ".5",
                             "5.",
                             ".",
                             "1e5",
                             "1e",
                             "1e+",
                             "1e+5",
                             "1E-5",
                             "0x10",
                             " 1",
                             "1 ",
                             "1,5",
                             "inf",
                             "-inf",
                             "INF",
                             "nan",
                             "infinity",
                             "in",
                             "1e999",
                             "-1e999",
                             "1e-999",
                             "0e999",
                             "0.000",
                             "1f",
                             "-0",
                             "00012",
                             "1.2.3",
                             "e5",
                             "1e5e5",
                             "1nf",
                             "9007199254740993",
                             "2.2250738585072011e-308"})
        require_same_reading(text);
    std::mt19937_64 random(7);
    for (int i = 0; i < 100'000; ++i) {
        const auto value = std::bit_cast<double>(random());
        if (std::isfinite(value) && std::abs(value) > 1e-300)
            require_same_reading(by_the_library(value));
    }
}

TEST_CASE("a joining thread is waited for") {
    int done = 0;
    {
        const JoiningThread thread([&done] { done = 1; });
    }
    CHECK(done == 1);
}
