// The additive model of site, date and cell on designs whose values can be worked out by hand.
#include "statistics/additive_model.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <limits>
#include <random>
#include <vector>

#include "statistics/timed_values.h"

using namespace hearwood;

namespace {

const double kNone = std::numeric_limits<double>::quiet_NaN();

double effect(int factor, int level) {
    return std::sin(13.7 * factor + 2.9 * level) * (factor + 1);
}

/// Without noise every estimable value is exact: 50 + a + b + g.
double exact(const DesignCell& at) {
    return 50 + effect(0, at.site) + effect(1, at.date) + effect(2, at.cell);
}

double value_with(int site, int dates, int cells) {
    double b = 0, g = 0;
    for (int d = 0; d < dates; ++d) b += effect(1, d) / dates;
    for (int c = 0; c < cells; ++c) g += effect(2, c) / cells;
    return 50 + effect(0, site) + b + g;
}

AdditiveModel::Fit fit_of(std::size_t sites, const std::vector<DesignCell>& where) {
    AdditiveModel model(sites, 1);
    for (const DesignCell& at : where) model.add(at, std::vector{exact(at)});
    return model.fit();
}

}  // namespace

TEST_CASE("in a complete layout a site's value is its plain mean, and nothing leans") {
    std::mt19937 random(1);
    std::normal_distribution<double> noise;
    AdditiveModel model(3, 2);
    double sums[3][2] = {};
    for (int site = 0; site < 3; ++site)
        for (int date = 0; date < 4; ++date)
            for (int cell = 0; cell < 5; ++cell) {
                const std::vector values{noise(random), 1e6 + noise(random)};
                model.add({site, 700 + date, cell - 2}, values);
                for (int c = 0; c < 2; ++c) sums[site][c] += values[c] / 20;
            }
    const auto fit = model.fit();
    for (std::size_t site = 0; site < 3; ++site)
        for (std::size_t c = 0; c < 2; ++c) {
            CHECK(fit.columns[c][site].value == Approx(sums[site][c]).epsilon(1e-13));
            CHECK(fit.columns[c][site].leans == Approx(1).epsilon(1e-12));
            CHECK(fit.columns[c][site].cells == 20);
        }
}

TEST_CASE("cells and dates that a site lacks do not move its value") {
    std::vector<DesignCell> where;
    for (int site = 0; site < 4; ++site)
        for (int date = 0; date < 3; ++date)
            for (int cell = 0; cell < 6; ++cell) {
                if (site >= 2 && cell % 3 == 1) continue;          // minutes its class lacks
                if (site == 1 && date == 2 && cell > 0) continue;  // a night of one quarter
                where.push_back({site, date, cell});
            }
    const auto fit = fit_of(4, where);
    for (int site = 0; site < 4; ++site) {
        const SiteEstimate& e = fit.columns[0][static_cast<std::size_t>(site)];
        CHECK(e.value == Approx(value_with(site, 3, 6)).epsilon(1e-12));
        CHECK(e.comparable);
        CHECK(e.leans > 1);
        CHECK(e.leans < 2);
    }
    CHECK(fit.columns[0][1].cells == 13);
}

TEST_CASE("a site that shares neither dates nor times with the rest has no value") {
    std::vector<DesignCell> where;
    for (int site = 0; site < 3; ++site)
        for (int date = 0; date < 2; ++date) where.push_back({site, date, 0});
    where.push_back({3, 9, 0});  // the time of day is shared, but the date is its own
    const auto fit = fit_of(5, where);
    CHECK(fit.columns[0][0].value == Approx(value_with(0, 2, 1)));
    CHECK_FALSE(fit.columns[0][3].comparable);
    CHECK(std::isnan(fit.columns[0][3].value));
    CHECK(std::isnan(fit.columns[0][3].leans));
    CHECK(fit.columns[0][3].cells == 1);
    CHECK(fit.columns[0][4].cells == 0);  // never recorded
    CHECK_FALSE(fit.columns[0][4].comparable);
}

TEST_CASE("that all dates and times hang together is not enough: rank decides") {
    // Every site shares a date with one and a time of day with another, so that the graph of sites,
    // dates and cells is connected; yet there are 4 rows for 5 differences.
    const auto fit = fit_of(2, {{0, 0, 0}, {0, 1, 1}, {1, 0, 2}, {1, 2, 1}});
    CHECK(fit.design[0].comparable);
    CHECK_FALSE(fit.design[1].comparable);
    // And the other way round: no site stands where another stands, but two together pin the sum.
    const auto sums = fit_of(2, {{0, 0, 0}, {0, 1, 1}, {1, 0, 1}, {1, 1, 0}});
    CHECK(sums.design[1].comparable);
    CHECK(sums.columns[0][1].value - sums.columns[0][0].value ==
          Approx(effect(0, 1) - effect(0, 0)).epsilon(1e-12));
}

TEST_CASE("a site outside the group helps those inside") {
    // Site 2 alone ties date 0 to date 1, in a cell of its own: sites 0 and 1 become comparable.
    const auto fit = fit_of(3, {{0, 0, 0}, {1, 1, 0}, {2, 0, 5}, {2, 1, 5}});
    CHECK(fit.columns[0][0].comparable);
    CHECK(fit.columns[0][1].comparable);
    CHECK_FALSE(fit.columns[0][2].comparable);
    CHECK(fit.columns[0][0].value ==
          Approx(50 + effect(0, 0) + effect(2, 0) + (effect(1, 0) + effect(1, 1)) / 2));
}

TEST_CASE("of two groups the one with more sites has values, then the one with more cells") {
    const auto sites = fit_of(3, {{0, 0, 0}, {0, 0, 1}, {0, 0, 2}, {1, 1, 0}, {2, 1, 0}});
    CHECK_FALSE(sites.design[0].comparable);
    CHECK(sites.design[2].comparable);
    const auto cells = fit_of(4, {{0, 0, 0}, {1, 0, 0}, {2, 1, 0}, {3, 1, 0}, {3, 1, 1}});
    CHECK_FALSE(cells.design[0].comparable);
    CHECK(cells.design[2].comparable);
    const auto first = fit_of(2, {{0, 0, 0}, {1, 1, 0}});
    CHECK(first.design[0].comparable);
    CHECK(first.columns[0][0].value == Approx(exact({0, 0, 0})));
    CHECK(std::isnan(first.design[0].leans));  // nothing to compare it with
}

TEST_CASE("a column's missing values are its own affair") {
    AdditiveModel model(3, 4);
    for (int site = 0; site < 3; ++site)
        for (int date = 0; date < 3; ++date)
            for (int cell = 0; cell < 4; ++cell) {
                const double y = exact({site, date, cell});
                const bool out = site == 0 && cell > 1;
                model.add({site, date, cell},
                          std::vector{y, out ? kNone : y, site == 2 ? kNone : y, kNone});
            }
    const auto fit = model.fit();
    for (std::size_t site = 0; site < 2; ++site)
        for (std::size_t c = 0; c < 3; ++c)
            CHECK(fit.columns[c][site].value ==
                  Approx(value_with(static_cast<int>(site), 3, 4)).epsilon(1e-12));
    CHECK(fit.columns[1][0].cells == 6);
    CHECK(fit.columns[2][2].cells == 0);
    CHECK(std::isnan(fit.columns[2][2].value));
    CHECK(std::isnan(fit.columns[3][0].value));
    CHECK(fit.design[2].cells == 12);
}

TEST_CASE("no rows, no values") {
    const auto fit = AdditiveModel(2, 1).fit();
    CHECK(fit.design.size() == 2);
    CHECK(std::isnan(fit.columns[0][0].value));
}

TEST_CASE("a chain of sites that each share one cell with the next leans heavily, and is exact") {
    std::vector<DesignCell> where;
    for (int site = 0; site < 30; ++site) {
        where.push_back({site, site, 0});
        where.push_back({site, site + 1, 0});
    }
    const auto fit = fit_of(30, where);
    for (int site = 0; site < 30; ++site)
        CHECK(fit.columns[0][static_cast<std::size_t>(site)].value ==
              Approx(value_with(site, 31, 1)).epsilon(1e-10));
    CHECK(fit.columns[0][0].leans > 2);
}

TEST_CASE("what a site showed on a date is told from what the date did everywhere") {
    AdditiveModel model(2, 1);
    // Site 1 is 2 above site 0, but 1 more on the last date and 1 less on the first; dates do much
    // more.
    for (int date = 0; date < 3; ++date)
        for (int cell = 0; cell < 2; ++cell) {
            const double y = 10.0 * date * date + 3 * cell;
            model.add({0, date, cell}, std::vector{y});
            model.add({1, date, cell}, std::vector{y + 2 + (date - 1)});
        }
    const auto fit = model.fit();
    REQUIRE(fit.nights.size() == 6);
    const double value = fit.columns[0][1].value;
    CHECK(fit.nights[3].site == 1);
    // The model shares a difference of the two sites between them.
    CHECK(fit.nights[3].values[0] == Approx(value - 0.5));
    CHECK(fit.nights[4].values[0] == Approx(value));
    CHECK(fit.nights[5].values[0] == Approx(value + 0.5));
    CHECK(fit.nights[2].values[0] == Approx(fit.columns[0][0].value - 0.5));
}

TEST_CASE("names instead of numbers, in any order of rows") {
    std::vector<DatedValue> rows{{"b", "2031-05-04", "1", 4},
                                 {"a", "2031-05-04", "1", 3},
                                 {"a", "2031-05-05", "1", 5},
                                 {"c", "2031-06-01", "1", 9},
                                 {"d", "2031-05-04", "1", kNone}};
    for (int turn = 0; turn < 2; ++turn) {
        const std::vector<TimedSite> sites = timed_site_values(rows);
        REQUIRE(sites.size() == 4);
        CHECK(sites[0].value == Approx(4));
        CHECK(sites[0].reason.empty());
        CHECK(sites[1].value == Approx(5));  // one more than a on the date they share
        CHECK(sites[1].cells == 1);
        CHECK(std::isnan(sites[2].value));
        CHECK(sites[2].reason ==
              "its dates and cells do not tie it to the 2 sites that can be compared with each "
              "other");
        CHECK(sites[3].reason == "it has no values");
        std::reverse(rows.begin(), rows.end());
    }
    CHECK(timed_site_values({}).empty());
}
