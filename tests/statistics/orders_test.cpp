#include "statistics/orders.h"

#include <catch2/catch.hpp>
#include <set>

using namespace hearwood;

namespace {

std::set<std::vector<int>> rows_of(const Orders& orders) {
    std::set<std::vector<int>> rows;
    for (std::int64_t r = 0; r < orders.rows(); ++r)
        rows.emplace(orders.row(r).begin(), orders.row(r).end());
    return rows;
}

}  // namespace

TEST_CASE("all orders within blocks are there once, the observed one first") {
    const std::vector<int> blocks{0, 1, 0, 1, 0};
    const Orders orders(blocks, 2, 1);
    CHECK(orders.exact());
    CHECK(orders.rows() == 12);
    CHECK(rows_of(orders).size() == 12);
    for (int i = 0; i < 5; ++i) CHECK(orders.row(0)[i] == i);
    for (const std::vector<int>& row : rows_of(orders))
        for (std::size_t i = 0; i < row.size(); ++i) CHECK(blocks[row[i]] == blocks[i]);
}

TEST_CASE("equal numbers are not told apart") {
    const std::vector<int> blocks(6, 0);
    const std::vector<double> x{1, 1, 2, 2, 2, 3};
    const Orders orders(blocks, 1, 1, x);
    CHECK(orders.rows() == 60);  // 6! / (2! 3!)
    std::set<std::vector<double>> arrangements;
    for (std::int64_t r = 0; r < orders.rows(); ++r) {
        std::vector<double> row;
        for (const int unit : orders.row(r)) row.push_back(x[unit]);
        arrangements.insert(row);
    }
    CHECK(arrangements.size() == 60);
    CHECK(arrangements.contains(x));
}

TEST_CASE("beyond the limit random orders come from the seed, within blocks") {
    const std::vector<int> blocks{0, 0, 0, 0, 1, 1, 1, 1};
    const PermutationLimits limits{100, 50};
    const Orders orders(blocks, 2, 4, {}, limits), again(blocks, 2, 4, {}, limits);
    CHECK_FALSE(orders.exact());
    CHECK(orders.rows() == 51);
    CHECK(orders.reported() == 50);
    for (std::int64_t r = 0; r < orders.rows(); ++r)
        for (std::size_t i = 0; i < blocks.size(); ++i) {
            CHECK(orders.row(r)[i] == again.row(r)[i]);
            CHECK(blocks[orders.row(r)[i]] == blocks[i]);
        }
}
