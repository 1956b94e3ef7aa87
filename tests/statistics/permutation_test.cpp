#include "statistics/permutation.h"

#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <set>

#include "statistics/random.h"

using namespace hearwood;

namespace {

Layout layout_of(const std::vector<int>& classes, const std::vector<int>& blocks, int class_count,
                 int block_count) {
    return {classes, blocks, class_count, block_count};
}

std::set<std::vector<std::uint8_t>> distinct_rows(const Permutations& permutations) {
    std::set<std::vector<std::uint8_t>> rows;
    for (std::int64_t r = 0; r < permutations.rows(); ++r) {
        const auto row = permutations.row(r);
        rows.emplace(row.begin(), row.end());
    }
    return rows;
}

}  // namespace

TEST_CASE("permutations are counted as products of multinomial coefficients") {
    const auto one_block = [](int a, int b) {
        std::vector<int> classes(a, 0);
        classes.insert(classes.end(), b, 1);
        return layout_of(classes, std::vector<int>(a + b, 0), 2, 1);
    };
    CHECK(count_permutations(one_block(4, 4), 200'000) == 70);
    CHECK(count_permutations(one_block(10, 10), 200'000) == 184'756);
    CHECK_FALSE(count_permutations(one_block(12, 12), 200'000));
    CHECK(count_permutations(one_block(12, 12), 3'000'000) == 2'704'156);
    CHECK_FALSE(count_permutations(one_block(500, 500), 200'000));
    // Three blocks of two and two: 6^3.
    CHECK(count_permutations(layout_of({0, 0, 1, 1, 0, 0, 1, 1, 0, 0, 1, 1},
                                       {0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2}, 2, 3),
                             200'000) == 216);
    // Three classes of two: 6! / (2! 2! 2!).
    CHECK(count_permutations(layout_of({0, 1, 2, 0, 1, 2}, std::vector<int>(6, 0), 3, 1),
                             200'000) == 90);
}

TEST_CASE("enumeration gives every permutation once, the observed one first") {
    const Layout layout = layout_of({1, 0, 0, 1, 0, 1, 1}, {0, 1, 0, 1, 1, 1, 0}, 2, 2);
    const Permutations permutations(layout, 1);
    REQUIRE(permutations.exact());
    CHECK(permutations.rows() == 3 * 6);
    CHECK(permutations.reported() == 18);
    CHECK(distinct_rows(permutations).size() == 18);
    for (std::size_t i = 0; i < layout.classes.size(); ++i)
        CHECK(permutations.row(0)[i] == layout.classes[i]);
}

TEST_CASE("random permutations keep the counts of each block and are evenly spread") {
    const Layout layout = layout_of({0, 0, 1, 1, 0, 1}, {0, 0, 0, 0, 1, 1}, 2, 2);
    PermutationLimits limits;
    limits.enumerate = 1;
    limits.draws = 24'000;
    const Permutations permutations(layout, 7, limits);
    CHECK_FALSE(permutations.exact());
    CHECK(permutations.rows() == 24'001);
    CHECK(permutations.reported() == 24'000);
    std::map<std::vector<std::uint8_t>, int> counts;
    for (std::int64_t r = 1; r < permutations.rows(); ++r) {
        const auto row = permutations.row(r);
        CHECK(row[0] + row[1] + row[2] + row[3] == 2);
        CHECK(row[4] + row[5] == 1);
        ++counts[{row.begin(), row.end()}];
    }
    // Twelve permutations, 2,000 expected each: chi-squared with 11 degrees of freedom stays
    // below 31.3 with probability 0.999.
    REQUIRE(counts.size() == 12);
    double chi_squared = 0;
    for (const auto& [row, count] : counts) chi_squared += std::pow(count - 2000.0, 2) / 2000;
    CHECK(chi_squared < 31.3);
}

TEST_CASE("the generator is the published one and does not change") {
    // splitmix64 and xoshiro256** with seed 0: first outputs as computed from the authors' formulas
    // in Python, M being 2^64 - 1:
    //   state = (state + 0x9e3779b97f4a7c15) & M; z = state                        four times,
    //   z = ((z ^ z >> 30) * 0xbf58476d1ce4e5b9) & M                               for s[0] to s[3]
    //   z = ((z ^ z >> 27) * 0x94d049bb133111eb) & M; s.append(z ^ z >> 31)
    //   rotl = lambda x, k: (x << k | x >> 64 - k) & M
    //   output = (rotl(s[1] * 5 & M, 7) * 9) & M; t = s[1] << 17 & M               at every call
    //   s[2] ^= s[0]; s[3] ^= s[1]; s[1] ^= s[2]; s[0] ^= s[3]; s[2] ^= t; s[3] = rotl(s[3], 45)
    Random random(0);
    CHECK(random.next() == 0x99ec5f36cb75f2b4u);
    CHECK(random.next() == 0xbf6e1f784956452au);
}

TEST_CASE("bounded draws are even and normal deviates have mean 0 and variance 1") {
    Random random(3);
    std::vector<int> counts(6, 0);
    for (int i = 0; i < 60'000; ++i) ++counts[random.below(6)];
    double chi_squared = 0;
    for (const int count : counts) chi_squared += std::pow(count - 10'000.0, 2) / 10'000;
    CHECK(chi_squared < 20.5);  // 0.999 quantile, 5 degrees of freedom
    double sum = 0, squares = 0;
    for (int i = 0; i < 100'000; ++i) {
        const double z = random.normal();
        sum += z;
        squares += z * z;
    }
    CHECK(std::abs(sum / 1e5) < 4 / std::sqrt(1e5));
    CHECK(squares / 1e5 == Approx(1).margin(4 * std::sqrt(2 / 1e5)));
}
