#include "statistics/kappa.h"

#include <catch2/catch.hpp>
#include <random>

#include "base/missing.h"
#include "statistics/rank_correlation.h"

using namespace hearwood;

namespace {

/// Pairs from a square table of counts, first judge down, second across.
std::vector<JudgementPair> pairs_of(const std::vector<std::vector<int>>& table) {
    std::vector<JudgementPair> pairs;
    for (int i = 0; i < static_cast<int>(table.size()); ++i)
        for (int j = 0; j < static_cast<int>(table.size()); ++j)
            pairs.insert(pairs.end(), table[i][j], {i, j});
    return pairs;
}

std::vector<JudgementPair> random_pairs(int count, int categories, unsigned seed) {
    std::mt19937 random(seed);
    std::vector<JudgementPair> pairs;
    for (int i = 0; i < count; ++i) {
        const int first = static_cast<int>(random() % categories);
        const int second = random() % 3 ? first : static_cast<int>(random() % categories);
        pairs.push_back({first, second});
    }
    return pairs;
}

}  // namespace

TEST_CASE("Cohen's kappa of a table whose chance agreement can be worked out by hand", "[kappa]") {
    // 50 things, two judges: 20 both yes, 15 both no. Seen 0.7; chance 0.5 * 0.6 + 0.5 * 0.4 = 0.5;
    // kappa 0.4.
    CHECK(cohen_kappa(pairs_of({{20, 5}, {10, 15}}), 2) == Approx(0.4));
    CHECK(cohen_kappa(pairs_of({{3, 0, 0}, {0, 4, 0}, {0, 0, 5}}), 3) == Approx(1));
    CHECK(cohen_kappa(pairs_of({{0, 6}, {6, 0}}), 2) == Approx(-1));
}

TEST_CASE("kappa is not defined where nobody could disagree", "[kappa]") {
    CHECK(is_missing(cohen_kappa({}, 2)));
    CHECK(is_missing(cohen_kappa(pairs_of({{9, 0}, {0, 0}}), 2)));
    CHECK(is_missing(weighted_kappa(pairs_of({{9, 0}, {0, 0}}), 2)));
    CHECK(is_missing(fleiss_kappa({})));
    CHECK(is_missing(fleiss_kappa({{3, 0}, {3, 0}})));
}

TEST_CASE("weighted kappa of squares is Lin's concordance of the scores", "[kappa]") {
    // King & Chinchilli 2001 (from memory): with squared distances and population moments,
    // kappa = 2 cov / (var + var + (mean - mean)^2).
    for (const unsigned seed : {1u, 2u, 3u}) {
        const auto pairs = random_pairs(80, 5, seed);
        double a = 0, b = 0, aa = 0, bb = 0, ab = 0;
        const double n = static_cast<double>(pairs.size());
        for (const JudgementPair& pair : pairs) {
            a += pair.first / n;
            b += pair.second / n;
            aa += pair.first * pair.first / n;
            bb += pair.second * pair.second / n;
            ab += pair.first * pair.second / n;
        }
        const double concordance = 2 * (ab - a * b) / (aa - a * a + bb - b * b + (a - b) * (a - b));
        CHECK(weighted_kappa(pairs, 5) == Approx(concordance));
    }
}

TEST_CASE("with two categories weighted kappa is Cohen's", "[kappa]") {
    const auto pairs = random_pairs(60, 2, 9);
    CHECK(weighted_kappa(pairs, 2) == Approx(cohen_kappa(pairs, 2)));
}

TEST_CASE("Fleiss' kappa of the textbook table of 10 things and 14 judges", "[kappa]") {
    // The worked example found in many textbooks (values from memory): kappa 0.210.
    const std::vector<std::vector<int>> table = {
        {0, 0, 0, 0, 14}, {0, 2, 6, 4, 2}, {0, 0, 3, 5, 6}, {0, 3, 9, 2, 0}, {2, 2, 8, 1, 1},
        {7, 7, 0, 0, 0},  {3, 2, 6, 3, 0}, {2, 5, 3, 2, 2}, {6, 5, 2, 1, 0}, {0, 2, 2, 3, 7}};
    CHECK(fleiss_kappa(table) == Approx(0.210).margin(0.0005));
    CHECK(fleiss_kappa({{2, 0}, {0, 2}, {2, 0}}) == Approx(1));
}

TEST_CASE("weighted rank correlation with equal weights is Spearman's", "[kappa]") {
    std::mt19937 random(4);
    std::vector<double> x, y, w;
    for (int i = 0; i < 40; ++i) {
        x.push_back(static_cast<double>(random() % 12));  // ties on purpose
        y.push_back(x.back() + static_cast<double>(random() % 15));
        w.push_back(2.5);
    }
    CHECK(weighted_spearman(x, y, w) == Approx(spearman(x, y, 1).rho));
}

TEST_CASE("a weight counts like as many equal things", "[kappa]") {
    const std::vector<double> x = {1, 4, 2, 9, 5}, y = {2, 2, 8, 7, 1}, w = {3, 1, 2, 4, 1};
    std::vector<double> xs, ys;
    for (std::size_t i = 0; i < x.size(); ++i) {
        xs.insert(xs.end(), static_cast<std::size_t>(w[i]), x[i]);
        ys.insert(ys.end(), static_cast<std::size_t>(w[i]), y[i]);
    }
    CHECK(weighted_spearman(x, y, w) == Approx(spearman(xs, ys, 1).rho));
}

TEST_CASE("a constant side or too few things have no correlation", "[kappa]") {
    const std::vector<double> w = {1, 1, 1, 1};
    CHECK(is_missing(
        weighted_spearman(std::vector<double>{1, 2, 3, 4}, std::vector<double>{7, 7, 7, 7}, w)));
    CHECK(is_missing(weighted_spearman(std::vector<double>{1, 2}, std::vector<double>{1, 2},
                                       std::vector<double>{1, 1})));
}
