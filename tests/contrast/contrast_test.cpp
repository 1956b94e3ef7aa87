#include "contrast/contrast.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>

#include "base/error.h"
#include "base/missing.h"
#include "cases.h"
#include "contrast/classes.h"

using namespace hearwood;

TEST_CASE("pairs as blocks give Fisher's count for Darwin's maize") {
    // Fisher 1935, The Design of Experiments, section 21 (written down from memory): fifteen pairs,
    // differences in eighths of an inch; of the 32,768 sign patterns 1,726 reach the observed sum
    // of 314.
    const std::vector<double> differences{49, -67, 8,  16, 6,  23, 28, 41,
                                          14, 29,  56, 24, 75, 60, -48};
    const ContrastRow row =
        contrast_units(pairs_of(differences, std::vector<double>(15, 0)), rich_and_poor());
    CHECK(row.difference == Approx(314.0 / 15).epsilon(1e-12));
    CHECK(row.permutations == 32768);
    CHECK(row.p == 1726.0 / 32768);
    CHECK(row.p_min == 2.0 / 32768);
}

TEST_CASE("the jackal mandibles give Manly's difference and R's count") {
    // Data and difference of 4.8 mm: Manly 1997, Randomization, Bootstrap and Monte Carlo Methods
    // in Biology (from memory; he finds 9 of 5,000 random permutations in one tail). Count: R 4.2,
    // s <- combn(20, 10, function(k) sum(x[k])); sum(abs(2 * s - sum(x)) >= 48) is 616.
    const ContrastRow row =
        contrast_units(units_of({120, 107, 110, 116, 114, 111, 113, 117, 114, 112},
                                {110, 111, 107, 108, 110, 105, 107, 106, 111, 111}),
                       rich_and_poor());
    CHECK(row.difference == Approx(4.8).epsilon(1e-12));
    CHECK(row.permutations == 184756);
    CHECK(row.exact);
    CHECK(row.p == 616.0 / 184756);
}

TEST_CASE("four against four, wholly apart, reach the least p of 2 in 70") {
    const ContrastRow row = contrast_units(units_of({5, 6, 7, 8}, {1, 2, 3, 4}), rich_and_poor());
    CHECK(row.p == 2.0 / 70);
    CHECK(row.p_min == 2.0 / 70);
    CHECK(row.cliffs_delta == 1);
    // By hand: difference 4, pooled variance 5/3, df 6.
    CHECK(row.hedges_g == Approx(4 / std::sqrt(5.0 / 3) * (1 - 3.0 / 23)).epsilon(1e-12));
}

TEST_CASE("three against three cannot decide at 95 percent but can at 90") {
    ContrastPlan plan = rich_and_poor();
    const std::vector<Unit> units = units_of({5, 6, 7}, {1, 2, 3});
    const ContrastRow at95 = contrast_units(units, plan);
    CHECK(at95.p == 0.1);
    CHECK(at95.unbounded());
    CHECK(std::isinf(at95.ci_low));
    CHECK(at95.ci_high == std::numeric_limits<double>::infinity());
    plan.level = 0.9;
    const ContrastRow at90 = contrast_units(units, plan);
    CHECK_FALSE(at90.unbounded());
    // p(d) = 0.1 only where d lies beyond the next best permutations; by hand: swapping 5 and 3
    // leaves T* = 8/3 and c = 1/3, so the ends are (4 - 8/3) / (2/3) = 2 and (4 + ...)/... = 6 by
    // symmetry.
    CHECK(at90.ci_low == Approx(2).epsilon(1e-12));
    CHECK(at90.ci_high == Approx(6).epsilon(1e-12));
}

TEST_CASE("one site in a class leaves the row and empties the test") {
    const ContrastRow row = contrast_units(units_of({5}, {1, 2, 3}), rich_and_poor());
    CHECK(row.n_a == 1);
    CHECK(row.n_b == 3);
    CHECK_FALSE(row.tested());
    for (const double number : {row.mean_a, row.mean_b, row.difference, row.ci_low, row.hedges_g,
                                row.cliffs_delta, row.p, row.p_min})
        CHECK(is_missing(number));
}

TEST_CASE("equal values give p 1, an interval of one point and no g") {
    const ContrastRow row =
        contrast_units(units_of({0.1, 0.1, 0.1}, {0.1, 0.1, 0.1, 0.1, 0.1}), rich_and_poor());
    CHECK(row.difference == 0);
    CHECK(row.p == 1);
    CHECK(row.ci_low == 0);
    CHECK(row.ci_high == 0);
    CHECK(is_missing(row.hedges_g));
    CHECK(row.cliffs_delta == 0);
}

TEST_CASE("p does not change with the unit of measurement or its origin") {
    const std::vector<double> rich{3.1, 0.2, 5.5, 2.2, 2.2}, poor{1.0, 0.4, 2.2, 1.9, 0.7};
    const ContrastRow plain = contrast_units(units_of(rich, poor), rich_and_poor());
    for (const double scale : {1e-9, -1.0, 1e7}) {
        std::vector<double> a = rich, b = poor;
        for (double& value : a) value = value * scale + 12 * scale;
        for (double& value : b) value = value * scale + 12 * scale;
        const ContrastRow moved = contrast_units(units_of(a, b), rich_and_poor());
        CHECK(moved.p == plain.p);
        CHECK(moved.ci_low == Approx(std::min(plain.ci_low * scale, plain.ci_high * scale)));
        CHECK(moved.hedges_g == Approx(plain.hedges_g * (scale < 0 ? -1 : 1)));
    }
}

TEST_CASE("swapping the classes mirrors the contrast") {
    const std::vector<Unit> units = units_of({3.1, 0.2, 5.5, 2.2}, {1.0, 0.4, 2.2, 1.9, 0.7});
    ContrastPlan swapped = rich_and_poor();
    std::swap(swapped.class_a, swapped.class_b);
    const ContrastRow one = contrast_units(units, rich_and_poor());
    const ContrastRow other = contrast_units(units, swapped);
    CHECK(one.p == other.p);
    CHECK(one.ci_low == Approx(-other.ci_high));
    CHECK(one.ci_high == Approx(-other.ci_low));
    CHECK(one.cliffs_delta == -other.cliffs_delta);
}

TEST_CASE("the order of rows changes nothing, random permutations included") {
    std::vector<double> rich, poor;
    for (int i = 0; i < 12; ++i) {
        rich.push_back(std::sin(i * 1.7) + 0.4);
        poor.push_back(std::cos(i * 2.3));
    }
    std::vector<Unit> units = units_of(rich, poor);
    const ContrastRow first = contrast_units(units, rich_and_poor());
    std::reverse(units.begin(), units.end());
    const ContrastRow second = contrast_units(units, rich_and_poor());
    CHECK_FALSE(first.exact);
    CHECK(first.permutations == 99999);
    CHECK(first.p_min == 1e-5);
    CHECK(first.p == second.p);
    CHECK(first.ci_low == second.ci_low);
    ContrastPlan other_seed = rich_and_poor();
    other_seed.seed = 2;
    const ContrastRow third = contrast_units(units, other_seed);
    CHECK(third.p != first.p);
    CHECK(third.p == Approx(first.p).margin(0.01));
}

TEST_CASE("random p is never 0: the observed labels count among the draws") {
    // Phipson & Smyth 2010: (1 + hits) / (1 + draws). 12 and 12 sites wholly apart, so that of
    // 2,704,156 permutations 2 reach the difference; among 99,999 draws 0.07 are expected.
    std::vector<double> rich, poor;
    for (int i = 0; i < 12; ++i) {
        rich.push_back(100 + i);
        poor.push_back(i);
    }
    const ContrastRow row = contrast_units(units_of(rich, poor), rich_and_poor());
    CHECK(row.p >= 1e-5);
    CHECK(row.p <= 3e-5);
    CHECK(row.p * 1e5 == Approx(std::round(row.p * 1e5)).epsilon(1e-12));
    // An interval with 5,001 of 100,000 rows outside is bounded although the least p is drawn, not
    // counted.
    CHECK(std::isfinite(row.ci_low));
}

TEST_CASE("random permutations agree with enumeration within their error") {
    const std::vector<Unit> units =
        units_of({2.1, 3.3, 1.2, 4.4, 2.9, 3.8}, {1.1, 2.0, 0.4, 3.1, 1.7, 2.2});
    ContrastPlan sampled = rich_and_poor();
    sampled.limits.enumerate = 10;
    const ContrastRow exact = contrast_units(units, rich_and_poor());
    const ContrastRow random = contrast_units(units, sampled);
    CHECK(exact.exact);
    CHECK_FALSE(random.exact);
    CHECK(random.p == Approx(exact.p).margin(4 * std::sqrt(exact.p / 1e5)));
    CHECK(random.ci_low == Approx(exact.ci_low).margin(0.1));
}

TEST_CASE("a block with one class left drops out and is named") {
    std::vector<Unit> units = pairs_of({5, 6, 7, 8}, {1, 2, 3, kMissing});
    const ContrastRow row = contrast_units(units, rich_and_poor());
    CHECK(row.n_a == 3);
    CHECK(row.n_b == 3);
    CHECK(row.mean_a == 6);
    CHECK(row.dropped_blocks == std::vector<std::string>{"block 3"});
    CHECK(row.missing_sites == std::vector<std::string>{"p3"});
    CHECK(row.permutations == 8);
}

TEST_CASE("unbalanced blocks weigh by nA nB / (nA + nB)") {
    std::vector<Unit> units{{"a", "rich", "u", 4}, {"b", "rich", "u", 6}, {"c", "rich", "u", 8},
                            {"d", "poor", "u", 1}, {"e", "rich", "v", 9}, {"f", "poor", "v", 3},
                            {"g", "poor", "v", 4}};
    const ContrastRow row = contrast_units(units, rich_and_poor());
    const double wu = 3.0 / 4, wv = 2.0 / 3;
    CHECK(row.difference == Approx((wu * 5 + wv * 5.5) / (wu + wv)).epsilon(1e-12));
    CHECK(row.permutations == 12);
    CHECK(row.p_min == 1.0 / 12);
    CHECK(row.mean_a == Approx(27.0 / 4));
}

TEST_CASE("the primary outcome stands outside the family, untested rows too") {
    std::vector<SiteValue> values = values_of(units_of({5, 6, 7, 8}, {1, 2, 3, 4}), "aci", "dawn");
    for (const char* index : {"bi", "ndsi"})
        for (const SiteValue& value :
             values_of(units_of({5, 6, 7, 8}, {1, 2, 3, 6.5}), index, "dawn"))
            values.push_back(value);
    for (const SiteValue& value : values_of(units_of({5}, {1, 2}), "hf", "dusk"))
        values.push_back(value);
    ContrastPlan plan = rich_and_poor();
    plan.primary_index = "aci";
    plan.primary_window = "dawn";
    const std::vector<ContrastRow> rows = contrast_table(values, plan);
    REQUIRE(rows.size() == 4);
    CHECK(rows[0].role == Role::primary);
    CHECK(rows[0].p_adjusted == rows[0].p);
    // Two outcomes of the same values are one: the largest of two equal t is each of them.
    CHECK(rows[1].p_adjusted == rows[1].p);
    CHECK(rows[2].p_adjusted == rows[1].p);
    CHECK(rows[1].family == 2);
    CHECK(is_missing(rows[3].p_adjusted));
}

TEST_CASE("missing numbers are empty fields and words with commas are quoted") {
    const std::vector<ContrastRow> rows =
        contrast_table(values_of(units_of({5}, {1, 2, 3}), "litter, dry"), rich_and_poor());
    const std::string bytes = contrasts_csv(rows);
    const std::string line = bytes.substr(bytes.find('\n') + 1);
    CHECK(line.rfind("\"litter, dry\",all,rich,poor,1,3,,,,,,,,,,,,,,secondary,\"", 0) == 0);
    CHECK(bytes.back() == '\n');
}

TEST_CASE("every other pair of classes is compared, the declared one is not repeated") {
    std::vector<SiteValue> values = values_of(units_of({5, 6, 7, 8}, {1, 2, 3, 4}));
    for (int i = 0; i < 3; ++i)
        values.push_back({"x", "all", {"m" + std::to_string(i), "middle", "", 3.0 + i}});
    const std::vector<ContrastRow> pairs = other_pairs(values, rich_and_poor());
    REQUIRE(pairs.size() == 2);
    CHECK(pairs[0].class_a == "rich");
    CHECK(pairs[0].class_b == "middle");
    CHECK(pairs[1].class_a == "poor");
    CHECK(pairs[1].class_b == "middle");
    CHECK(pairs[0].p_adjusted >= pairs[0].p);
}

TEST_CASE("rows of other pairs go by outcome, each as if the pair stood alone") {
    std::vector<SiteValue> values;
    for (const char* index : {"aci", "bi"}) {
        for (const SiteValue& value : values_of(units_of({5, 6, 7, 8}, {1, 2, 3, 4}), index))
            values.push_back(value);
        for (int i = 0; i < 3; ++i)
            values.push_back(
                {index,
                 "all",
                 {"m" + std::to_string(i), "middle", "", index[0] == 'a' ? i : 9.0 * i}});
    }
    const std::vector<ContrastRow> pairs = other_pairs(values, rich_and_poor());
    REQUIRE(pairs.size() == 4);
    for (std::size_t r = 0; r < pairs.size(); ++r) {
        CHECK(pairs[r].index == (r < 2 ? "aci" : "bi"));
        CHECK(pairs[r].class_a == (r % 2 == 0 ? "rich" : "poor"));
        std::vector<Unit> units;
        for (const SiteValue& value : values)
            if (value.index == pairs[r].index) units.push_back(value.unit);
        ContrastPlan alone = rich_and_poor();
        alone.class_a = pairs[r].class_a;
        alone.class_b = "middle";
        CHECK(pairs[r].p == contrast_units(units, alone).p);
        CHECK(pairs[r].ci_low == contrast_units(units, alone).ci_low);
    }
}

TEST_CASE("more classes than a label holds are refused, not mixed up") {
    std::vector<SiteValue> values;
    for (int c = 0; c < 257; ++c)
        for (int i = 0; i < 2; ++i)
            values.push_back(
                {"x",
                 "all",
                 {std::to_string(c) + "." + std::to_string(i), std::to_string(c), "", 1.0 * i}});
    CHECK_THROWS_AS(classes_table(values, rich_and_poor()), InputError);
}

TEST_CASE("a class with one site is shown beside the F test, not tested in it") {
    std::vector<SiteValue> values = values_of(units_of({5, 6, 7, 8}, {1, 2, 3, 4}));
    values.push_back({"x", "all", {"s", "swamp", "", 100}});
    const std::vector<ClassesRow> rows = classes_table(values, rich_and_poor());
    REQUIRE(rows.size() == 1);
    CHECK(rows[0].classes == std::vector<std::string>{"rich", "poor"});
    CHECK(rows[0].single == std::vector<std::string>{"swamp"});
    // Two classes: F is the square of the two-sample t, and its permutation p that of the
    // difference.
    CHECK(rows[0].f == Approx(16 / (5.0 / 3 * 0.5)).epsilon(1e-12));
    CHECK(rows[0].p == 2.0 / 70);
    CHECK(rows[0].p_min == 2.0 / 70);
}

TEST_CASE("a verdict ends by what was declared to matter") {
    ContrastPlan plan = rich_and_poor();
    const std::vector<SiteValue> values =
        values_of(units_of({25, 26, 27, 28, 29}, {1, 2, 3, 4, 5}));
    const auto row = [&](double matters) {
        plan.matters = matters;
        return contrast_table(values, plan).front();
    };
    // The interval: 21 to 27 (two of 252 permutations are as far as the observed labels).
    REQUIRE_FALSE(row(10).unbounded());
    CHECK(row(10).ending == Ending::more);
    CHECK(row(10).verdict.find("it is more than 10, the smallest difference that matters") !=
          std::string::npos);
    CHECK(row(24).ending == Ending::some);
    CHECK(row(100).ending == Ending::smaller);
    CHECK(row(100).verdict.find("smaller than 100") != std::string::npos);
    CHECK(row(100).verdict.find("90 % interval") != std::string::npos);
    // The narrow interval is that of the level 0.9.
    ContrastPlan narrow = rich_and_poor();
    narrow.level = 0.9;
    const ContrastRow wanted = contrast_table(values, narrow).front();
    CHECK(row(24).narrow.low == wanted.ci_low);
    CHECK(row(24).narrow.high == wanted.ci_high);
    CHECK(row(wanted.ci_high).ending == Ending::smaller);  // ends included
    plan.matters.reset();
    CHECK_FALSE(contrast_table(values, plan).front().ending);
    // Where a primary is declared, only it is asked.
    plan.primary_index = "another";
    plan.primary_window = "all";
    CHECK_FALSE(row(10).ending);
}
