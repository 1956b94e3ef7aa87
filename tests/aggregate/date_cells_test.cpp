// Averages worked out by hand.
#include "aggregate/date_cells.h"

#include <catch2/catch.hpp>

#include "base/missing.h"
#include "survey/zone.h"

using namespace hearwood;

namespace {

Date on(const char* text) {
    return *parse_date(text);
}
void add(DateCells& cells, std::size_t site, Date date, int part, int source,
         std::vector<double> values, bool kept = true) {
    cells.add({site, date, part, source}, kept, values);
}

}  // namespace

TEST_CASE("segments of a source are averaged before the sources of a site") {
    DateCells cells(1, false);
    const Date date = on("2031-05-04");
    for (const double value : {1.0, 2.0, 3.0}) add(cells, 0, date, 6, 0, {value});  // mean 2
    add(cells, 0, date, 6, 1, {10.0});                                              // mean 10
    const auto rows = cells.finish();
    REQUIRE(rows.size() == 1);
    CHECK(rows[0].values[0] == Approx(6.0).epsilon(1e-15));  // not (1 + 2 + 3 + 10) / 4 = 4
    CHECK(rows[0].kept == 4);
    CHECK(rows[0].possible == 4);
}

TEST_CASE("sources stay apart however many there are") {
    DateCells cells(1, false);
    const Date date = on("2031-05-04");
    for (const double value : {1.0, 2.0, 3.0}) add(cells, 0, date, 6, 0, {value});
    add(cells, 0, date, 6, 1 << 16, {10.0});
    CHECK(cells.finish()[0].values[0] == 6.0);  // not 4: the 16 low bits of the sources are alike
}

TEST_CASE("a date with more segments weighs no more") {
    DateCells cells(1, false);
    for (int i = 0; i < 9; ++i) add(cells, 0, on("2031-05-04"), 6, 0, {1.0});
    add(cells, 0, on("2031-05-05"), 6, 0, {5.0});
    const auto means = means_over_dates(cells.finish());
    REQUIRE(means.size() == 1);
    CHECK(means[0].values[0] == Approx(3.0).epsilon(1e-15));  // not 14 / 10
    CHECK(means[0].dates == 2);
    CHECK(means[0].kept == 10);
}

TEST_CASE("missing values and excluded segments take no part, and effort says so") {
    DateCells cells(2, false);
    const Date first = on("2031-05-04"), second = on("2031-05-05"), third = on("2031-05-06");
    add(cells, 0, first, 6, 0, {2.0, kMissing});
    add(cells, 0, first, 6, 0, {4.0, kMissing});
    add(cells, 0, first, 6, 0, {100.0, 100.0}, false);
    add(cells, 0, second, 6, 0, {7.0, 1.0});
    add(cells, 0, third, 6, 0, {50.0, 50.0}, false);
    const auto rows = cells.finish();
    REQUIRE(rows.size() == 3);
    CHECK(rows[0].values[0] == 3.0);
    CHECK(is_missing(rows[0].values[1]));
    CHECK(rows[0].kept == 2);
    CHECK(rows[0].possible == 3);
    CHECK(is_missing(rows[2].values[0]));
    CHECK(rows[2].kept == 0);
    CHECK(rows[2].possible == 1);
    const auto means = means_over_dates(rows);
    REQUIRE(means.size() == 1);
    CHECK(means[0].values[0] == 5.0);  // (3 + 7) / 2
    CHECK(means[0].values[1] == 1.0);  // of the one date that has it
    CHECK(means[0].dates == 2);
    CHECK(means[0].possible == 5);
}

TEST_CASE("rows come ordered by site, date and part, steps before sunrise first") {
    DateCells cells(1, false);
    add(cells, 1, on("2031-05-04"), 3, 0, {1});
    add(cells, 0, on("2031-05-05"), -2, 0, {2});
    add(cells, 0, on("2031-05-05"), -11, 0, {3});
    add(cells, 0, on("2030-12-31"), 7, 0, {4});
    std::vector<double> order;
    for (const DateMean& row : cells.finish()) order.push_back(row.values[0]);
    CHECK(order == std::vector<double>{4, 3, 2, 1});
}

TEST_CASE("variance within a date is pooled over the sources") {
    // Source 0: 1, 3, 5 (squares about the mean 3: 8); source 1: 10, 14 (about 12: 8). (8 + 8) / (2
    // + 1).
    DateCells cells(1, true);
    const Date date = on("2031-05-04");
    for (const double value : {1.0, 3.0, 5.0}) add(cells, 0, date, 0, 0, {value});
    for (const double value : {10.0, 14.0}) add(cells, 0, date, 0, 1, {value});
    add(cells, 0, on("2031-05-05"), 0, 0, {1.0});
    const auto rows = cells.finish();
    CHECK(rows[0].variances[0] == Approx(16.0 / 3).epsilon(1e-15));
    CHECK(is_missing(rows[1].variances[0]));
}
