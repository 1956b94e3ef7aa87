#include "report/clip_pairs.h"

#include <catch2/catch.hpp>

#include "base/missing.h"

using namespace hearwood;

namespace {

Survey two_blocks() {
    Survey survey;
    survey.stands.class_a = "rich";
    survey.stands.class_b = "poor";
    for (const char* name : {"dawn", "day"}) {
        Window window;
        window.name = name;
        survey.windows.push_back(window);
    }
    for (const char* block : {"A", "B"})
        for (const char* stand : {"rich", "poor"}) {
            Site site;
            site.name = std::string(stand) + block;
            site.stand = stand;
            site.block = block;
            survey.sites.push_back(site);
        }
    return survey;
}

SegmentPlace place_at(double hour, int window, double value) {
    SegmentPlace place;
    place.window = static_cast<std::int16_t>(window);
    place.kept = place.averaged = true;
    place.from_min = static_cast<float>(60 * hour);
    place.value = value;
    return place;
}

constexpr Date kFirst = std::chrono::local_days{std::chrono::year{2031} / 5 / 4};

}  // namespace

TEST_CASE("a pair is of one block, date and hour, and lies nearest to both medians") {
    const Survey survey = two_blocks();
    SegmentGatherer gathered(-1);
    // Medians at dawn in block A: rich 6 of {4, 6, 9}, poor 2 of {1, 2, 5}.
    gathered.days[{0, kFirst}] = {place_at(5.1, 0, 4), place_at(6.1, 0, 9)};
    gathered.days[{0, kFirst + std::chrono::days{1}}] = {place_at(6.5, 0, 6)};
    gathered.days[{1, kFirst}] = {place_at(5.9, 0, 5), place_at(6.2, 0, 2)};
    gathered.days[{1, kFirst + std::chrono::days{1}}] = {place_at(5.5, 0, 1)};
    // 05:00 on the first date: |4 - 6| + |5 - 2| = 5; 06:00: |9 - 6| + 0 = 3. The second date has
    // no hour with both.
    const auto pairs = choose_pairs(survey, gathered, "dawn");
    REQUIRE(pairs.size() == 1);
    CHECK(pairs[0].block == "A");
    CHECK(pairs[0].hour == 6);
    CHECK(pairs[0].of[0].site == 0);
    CHECK(pairs[0].of[1].site == 1);
    CHECK(pairs[0].of[0].place->value == 9);
    CHECK(pairs[0].of[1].place->value == 2);
    CHECK(pairs[0].of[0].date == kFirst);
}

TEST_CASE("what a screen flags, or what is not averaged, is in no pair") {
    const Survey survey = two_blocks();
    SegmentGatherer gathered(-1);
    gathered.days[{0, kFirst}] = {place_at(5, 0, 4)};
    gathered.days[{1, kFirst}] = {place_at(5, 0, 4)};
    REQUIRE(choose_pairs(survey, gathered, "dawn").size() == 1);
    gathered.days[{1, kFirst}][0].flagged = true;
    CHECK(choose_pairs(survey, gathered, "dawn").empty());
    gathered.days[{1, kFirst}][0].flagged = false;
    gathered.days[{0, kFirst}][0].averaged = false;
    CHECK(choose_pairs(survey, gathered, "dawn").empty());
    gathered.days[{0, kFirst}][0] = place_at(5, 0, kMissing);
    CHECK(choose_pairs(survey, gathered, "dawn").empty());
}

TEST_CASE("pairs go by turns of windows and blocks, the shown window first, six at most") {
    Survey survey = two_blocks();
    for (const char* name : {"dusk", "night"}) {
        Window window;
        window.name = name;
        survey.windows.push_back(window);
    }
    SegmentGatherer gathered(-1);
    for (std::size_t site = 0; site < 4; ++site)
        for (int window = 0; window < 4; ++window)
            gathered.days[{site, kFirst}].push_back(place_at(5 + window, window, window));
    const auto pairs = choose_pairs(survey, gathered, "dusk");
    REQUIRE(pairs.size() == kMostPairs);
    const std::vector<std::pair<int, std::string>> wanted{{2, "A"}, {0, "B"}, {1, "A"},
                                                          {3, "B"}, {2, "B"}, {0, "A"}};
    for (std::size_t i = 0; i < pairs.size(); ++i) {
        CHECK(pairs[i].of[0].window == wanted[i].first);
        CHECK(pairs[i].block == wanted[i].second);
    }
}
