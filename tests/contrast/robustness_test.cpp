#include "contrast/robustness.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "cases.h"

using namespace hearwood;

namespace {

SettingRow setting(std::vector<int> levels, double shift) {
    SettingRow row;
    row.levels = std::move(levels);
    row.result = contrast_units(
        units_of({5 + shift, 6 + shift, 7 + shift, 8 + shift}, {1, 2, 3, 4}), rich_and_poor());
    row.result.role = Role::primary;
    row.result.p_adjusted = row.result.p;
    return row;
}

/// Two frames that differ by `frame`, two windows by `window`, two bands by nothing.
Robustness example(double frame, double window) {
    Robustness robustness{
        "aci",
        "dawn",
        {{"frame", {"512", "256"}}, {"bands", {"own", "lower"}}, {"window", {"own", "later"}}},
        {},
        {}};
    for (int f = 0; f < 2; ++f)
        for (int b = 0; b < 2; ++b)
            for (int w = 0; w < 2; ++w)
                robustness.grid.push_back(setting({f, b, w}, f * frame + w * window));
    robustness.without.push_back({"r0", setting({0, 0, 0}, -3)});
    robustness.without.push_back({"r1", setting({0, 0, 0}, 0)});
    return robustness;
}

bool says(const std::string& text, const std::string& words) {
    return text.find(words) != std::string::npos;
}

}  // namespace

TEST_CASE("a factor that changes nothing is taken out and named") {
    Robustness robustness = example(-8, 0.5);
    CHECK(judge_settings(robustness) == std::vector<std::string>{"bands"});
    CHECK(robustness.factors.size() == 2);
    CHECK(robustness.grid.size() == 4);
    CHECK(robustness.grid[3].levels == std::vector<int>{1, 1});
}

TEST_CASE("agreement counts signs and what is shown, and says what matters most") {
    Robustness robustness = example(-8, 0.5);
    judge_settings(robustness);
    const Agreement shares = agreement(robustness);
    CHECK(shares.tested == 4);
    CHECK(shares.same_sign == 2);
    CHECK(shares.same_both == 2);
    const std::vector<double> moved = influence(robustness);
    // By hand: the classes' spread is the same in all settings, so g moves by the shift over it.
    const double unit = std::sqrt(5.0 / 3) / (1 - 3.0 / 23);
    CHECK(moved[0] == Approx(8 / unit));
    CHECK(moved[1] == Approx(0.5 / unit));
    const std::string words = robustness_in_words(robustness);
    CHECK(says(words, "2 of 4 settings agree with the declared one in sign"));
    CHECK(says(words, "What matters most is the frame"));
    CHECK(says(words, "Without r0 the result is another"));
}

TEST_CASE("where no setting could show a difference, none is said to agree in showing none") {
    Robustness robustness = example(-8, 0.5);
    for (SettingRow& row : robustness.grid) {
        const double shift = 8.0 * row.levels[0];
        row.result =
            contrast_units(units_of({5 - shift, 6 - shift, 7 - shift}, {1, 2, 3}), rich_and_poor());
        row.result.role = Role::primary;
        row.result.p_adjusted = row.result.p;
    }
    judge_settings(robustness);
    CHECK(agreement(robustness).decidable == 0);
    const std::string words = robustness_in_words(robustness);
    CHECK(says(words,
               "1 of 2 settings agree with the declared one in sign; none could show a "
               "difference with so few sites (least attainable p 0.100)."));
    CHECK_FALSE(says(words, "in showing"));
    CHECK(says(robustness_svg(robustness), "none could show a difference"));
}

TEST_CASE("the small table changes one choice at a time, the large one all") {
    Robustness robustness = example(-8, 0.5);
    judge_settings(robustness);
    const std::string small = robustness_csv(robustness);
    CHECK(says(small, "\nas declared,,4,4,4,"));
    CHECK(says(small, "\nframe,256,4,4,-4,"));
    CHECK(says(small, "\nwindow,later,4,4,4.5,"));
    CHECK(says(small, "\nwithout a site,r0,"));
    CHECK(std::count(small.begin(), small.end(), '\n') == 6);
    const std::string large = robustness_grid_csv(robustness);
    CHECK(large.rfind("frame,window,n_a,", 0) == 0);
    CHECK(std::count(large.begin(), large.end(), '\n') == 5);
}

TEST_CASE("the picture draws every setting and escapes names") {
    Robustness robustness = example(-8, 0.5);
    robustness.index = "a<b";
    judge_settings(robustness);
    const std::string svg = robustness_svg(robustness);
    CHECK(svg.rfind("<svg ", 0) == 0);
    CHECK(says(svg, "a&lt;b, dawn"));
    CHECK_FALSE(says(svg, "a<b"));
    CHECK_FALSE(says(svg, "nan"));
    CHECK_FALSE(says(svg, "inf"));
    std::size_t dots = 0;
    for (std::size_t at = svg.find("<circle"); at != std::string::npos;
         at = svg.find("<circle", at + 1))
        ++dots;
    CHECK(dots == 4 + 1);
}

TEST_CASE("an estimate of exactly 0 has a dot and no interval, which it cannot scale") {
    Robustness robustness = example(-4, 0.5);
    REQUIRE(robustness.grid[4].result.difference == 0);
    REQUIRE(robustness.grid[4].result.hedges_g == 0);
    judge_settings(robustness);
    CHECK_FALSE(says(robustness_svg(robustness), "nan"));
}

TEST_CASE("settings that cannot be tested leave no mark and no claim") {
    Robustness robustness{"aci", "dawn", {}, {}, {}};
    SettingRow row;
    row.result = contrast_units(units_of({5}, {1, 2}), rich_and_poor());
    robustness.grid.push_back(row);
    judge_settings(robustness);
    CHECK(says(robustness_in_words(robustness), "No setting could be tested"));
    CHECK_FALSE(says(robustness_svg(robustness), "nan"));
    CHECK(says(robustness_csv(robustness), "as declared,,1,2,,,,,,,\n"));
}
