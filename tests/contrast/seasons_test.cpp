#include "contrast/seasons.h"

#include <catch2/catch.hpp>
#include <cmath>

#include "cases.h"

using namespace hearwood;

namespace {

void add(std::vector<SeasonValue>& values, const std::string& season, const std::string& site,
         double value) {
    values.push_back({season, {"x", "all", {site, site[0] == 'r' ? "rich" : "poor", "", value}}});
}

/// Four and four sites; from dry to wet every site rises by 10, rich ones by 3 more.
std::vector<SeasonValue> two_seasons() {
    std::vector<SeasonValue> values;
    for (int i = 0; i < 4; ++i)
        for (const char* name : {"r", "p"}) {
            const std::string site = name + std::to_string(i);
            const double level = 20 + 7 * i + (name[0] == 'r' ? 2 : 0);
            add(values, "dry", site, level);
            add(values, "wet", site, level + 10 + (name[0] == 'r' ? 3 : 0) + 0.1 * (i % 3));
        }
    return values;
}

const std::vector<std::string> kSeasons{"dry", "wet"};

}  // namespace

TEST_CASE("the change of the difference is the contrast of the sites' own changes") {
    const auto rows = season_table(two_seasons(), kSeasons, rich_and_poor());
    REQUIRE(rows.size() == 1);
    CHECK(rows[0].season_1 == "dry");
    CHECK(rows[0].season_2 == "wet");
    CHECK(rows[0].difference_1 == Approx(2));
    CHECK(rows[0].difference_2 == Approx(5));
    CHECK(rows[0].change.difference == Approx(3));
    // By hand: changes 13, 13.1, 13.2, 13 against 10, 10.1, 10.2, 10: two of 70 permutations are as
    // far.
    CHECK(rows[0].change.p == Approx(2.0 / 70));
    CHECK(rows[0].verdict.find("was 2.00 in dry and 5.00 in wet") != std::string::npos);
    CHECK(rows[0].verdict.find("it changed by 3.00") != std::string::npos);
}

TEST_CASE("a site that lacks a season takes part in the other one only") {
    std::vector<SeasonValue> values = two_seasons();
    add(values, "dry", "r9", 100);
    const auto rows = season_table(values, kSeasons, rich_and_poor());
    CHECK(rows[0].difference_1 == Approx((4 * 32.5 + 100) / 5 - 30.5));
    CHECK(rows[0].change.n_a == 4);
    CHECK(rows[0].change.difference == Approx(3));
}

TEST_CASE(
    "fewer than two sites of a class in both seasons: the differences stand, the change does not") {
    std::vector<SeasonValue> values;
    for (const auto& [site, value] : {std::pair{"r0", 1.0}, {"r1", 2.0}, {"p0", 3.0}, {"p1", 4.0}})
        add(values, "dry", site, value);
    for (const auto& [site, value] : {std::pair{"r2", 1.0}, {"r3", 2.0}, {"p0", 3.0}, {"p1", 4.0}})
        add(values, "wet", site, value);
    const auto rows = season_table(values, kSeasons, rich_and_poor());
    CHECK(rows[0].difference_1 == Approx(-2));
    CHECK(std::isnan(rows[0].change.p));
    CHECK(rows[0].verdict ==
          "x, all: fewer than 2 sites of a class were recorded in both dry and wet, so that no "
          "change of the difference is told.");
    const std::string csv = seasons_csv(rows);
    CHECK(csv.find("x,all,dry,wet,0,2,-2,-2,,,,,") != std::string::npos);
}

TEST_CASE("of three seasons each is held against the next") {
    std::vector<SeasonValue> values = two_seasons();
    for (const SeasonValue& value : two_seasons())
        if (value.season == "dry")
            add(values, "late", value.value.unit.site, value.value.unit.value);
    const std::vector<std::string> seasons{"dry", "wet", "late"};
    const auto rows = season_table(values, seasons, rich_and_poor());
    REQUIRE(rows.size() == 2);
    CHECK(rows[1].season_1 == "wet");
    CHECK(rows[1].change.difference == Approx(-3));
}
