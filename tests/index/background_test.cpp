// The quantile of many columns by counting, against sorting.
#include "index/engine/background.h"

#include <algorithm>
#include <bit>
#include <catch2/catch.hpp>

#include "index/engine/quantile_search.h"
#include "index/engine/rank.h"
#include "signals.h"

using namespace hearwood;

namespace {

std::int16_t cell_of(double power) {
    return static_cast<std::int16_t>(
        std::min(std::bit_cast<std::int32_t>(static_cast<float>(power)) >> kCellShift, kCellMax));
}

/// Columns of very different kinds side by side.
std::vector<std::int16_t> columns_of_powers(int rows, int columns, unsigned seed) {
    std::mt19937 random(seed);
    std::exponential_distribution<double> noise(1);
    std::vector<std::int16_t> cells(static_cast<std::size_t>(rows) * columns);
    for (int row = 0; row < rows; ++row) {
        for (int i = 0; i < columns; ++i) {
            double power = 1e-15 * noise(random);
            if (i == 1) power = 1e-12;                      // all alike
            if (i == 2) power = row % 10 == 3 ? 0 : power;  // silent in a tenth
            if (i == 3) power = row % 9 == 3 ? 0 : power;   // and in more than a tenth
            if (i == 4) power *= row < rows / 2 ? 1 : 1e6;  // two levels
            if (i == 5) power = 0;
            if (i == 6) power *= std::exp2(20.0 * row / rows);  // ever louder
            cells[static_cast<std::size_t>(row) * columns + i] = cell_of(power);
        }
    }
    return cells;
}

}  // namespace

TEST_CASE("the quantile's step is that of the sorted values, for any number of rows") {
    for (const CpuPath path : {CpuPath::best, CpuPath::narrow, CpuPath::baseline}) {
        const Kernels& k = kernels(path);
        const int columns = 2 * k.lanes;
        for (const int rows : {1, 2, 9, 10, 11, 100, 349, 350, 351, 700, 1400, 1401, 5625, 40000}) {
            const auto cells = columns_of_powers(rows, columns, rows);
            QuantileSearch search(k, cells.data(), rows);
            search.run();
            for (int i = 0; i < columns; ++i) {
                std::vector<int> sorted;
                for (int row = 0; row < rows; ++row)
                    sorted.push_back(cells[static_cast<std::size_t>(row) * columns + i]);
                std::sort(sorted.begin(), sorted.end());
                const int expected = sorted[rows / 10];
                INFO("column " << i << " of " << rows << " rows");
                const int step = rows <= QuantileSearch::kExactRows ? 1 : kQuantileStep;
                CHECK(static_cast<int>(search.quantile(i)) / step == expected / step);
                CHECK(search.has_background(i) == (expected > 0));
            }
        }
    }
}

TEST_CASE("a segment too long for the store gives the same shares by histograms") {
    const Kernels& k = kernels(CpuPath::best);
    const int columns = 2 * k.lanes, rows = 20000;
    const auto cells = columns_of_powers(rows, columns, 5);
    const int many_groups = static_cast<int>(Background::kMostBytes / (rows * 2 * columns)) * 2;
    Background direct(k, 1, rows, 32), poured(k, many_groups, rows, 32);
    const auto run = [&](Background& background, int groups) {
        background.begin();
        for (int done = 0; done < rows; done += 32) {
            const int count = std::min(32, rows - done);
            std::int16_t* to = background.next_rows(count);
            for (int g = 0; g < groups; ++g) {
                std::copy_n(cells.data() + static_cast<std::size_t>(done) * columns,
                            count * columns, to + background.cell_stride() * g);
            }
        }
        std::vector<std::uint32_t> standout(groups * columns);
        std::vector<std::uint8_t> has(groups * columns);
        background.finish(standout, has);
        return std::pair{standout, has};
    };
    const auto [expected, expected_has] = run(direct, 1);
    for (int repeat = 0; repeat < 2; ++repeat) {
        const auto [standout, has] = run(poured, many_groups);
        for (int i = 0; i < columns; ++i) {
            CHECK(has[(many_groups - 1) * columns + i] == expected_has[i]);
            const double difference =
                static_cast<double>(standout[(many_groups - 1) * columns + i]) -
                static_cast<double>(expected[i]);
            // The limit falls inside a step of 0.094 dB; within it the values are taken as evenly
            // spread.
            CHECK(std::abs(difference) / rows < 0.0005);
        }
    }
}

TEST_CASE("a value of a rank is that of the sorted values") {
    for (const std::size_t count : {1U, 2U, 63U, 64U, 65U, 100U, 5625U}) {
        for (const float step : {0.0F, 1e-7F, 1e-6F}) {  // how coarse, so that many are alike
            auto values = white_noise(1e-3, count, static_cast<unsigned>(count));
            for (float& v : values) v = step > 0 ? std::round(v * v / step) * step : v * v;
            values[0] = 0;
            auto sorted = values;
            std::sort(sorted.begin(), sorted.end());
            for (std::size_t rank = 0; rank<count; rank += count> 100 ? 37 : 1) {
                const auto [value, next] = value_and_next_of_rank(values, rank);
                CHECK(value == sorted[rank]);
                CHECK(next == sorted[std::min(rank + 1, count - 1)]);
            }
            CHECK(value_of_rank(values, count - 1) == sorted.back());
        }
    }
}
