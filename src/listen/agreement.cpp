#include "listen/agreement.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/missing.h"

namespace hearwood {
namespace {

/// 1 - (weighted disagreement seen) / (that expected from the judges' own shares).
double kappa(std::span<const JudgementPair> pairs, int categories, double (*weight)(int)) {
    if (pairs.empty()) return kMissing;
    std::vector<double> first(categories, 0.0), second(categories, 0.0);
    double seen = 0;
    for (const JudgementPair& pair : pairs) {
        first[pair.first] += 1;
        second[pair.second] += 1;
        seen += weight(pair.first - pair.second);
    }
    const double n = static_cast<double>(pairs.size());
    double expected = 0;
    for (int i = 0; i < categories; ++i)
        for (int j = 0; j < categories; ++j) expected += weight(i - j) * first[i] * second[j] / n;
    return expected > 0 ? 1 - seen / expected : kMissing;
}

/// Weight below plus half of the weight at the same value.
std::vector<double> weighted_ranks(std::span<const double> values, std::span<const double> weight) {
    std::vector<std::size_t> order(values.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::sort(order.begin(), order.end(),
              [&](std::size_t a, std::size_t b) { return values[a] < values[b]; });
    std::vector<double> ranks(values.size());
    double below = 0;
    for (std::size_t i = 0; i < order.size();) {
        std::size_t end = i;
        double here = 0;
        while (end < order.size() && values[order[end]] == values[order[i]])
            here += weight[order[end++]];
        for (; i < end; ++i) ranks[order[i]] = below + here / 2;
        below += here;
    }
    return ranks;
}

double weighted_correlation(std::span<const double> x, std::span<const double> y,
                            std::span<const double> weight) {
    double sum = 0, mean_x = 0, mean_y = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        sum += weight[i];
        mean_x += weight[i] * x[i];
        mean_y += weight[i] * y[i];
    }
    mean_x /= sum;
    mean_y /= sum;
    double xx = 0, yy = 0, xy = 0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        xx += weight[i] * (x[i] - mean_x) * (x[i] - mean_x);
        yy += weight[i] * (y[i] - mean_y) * (y[i] - mean_y);
        xy += weight[i] * (x[i] - mean_x) * (y[i] - mean_y);
    }
    // Ranks of a constant side differ by rounding at most.
    const double least = 1e-18 * sum * sum * sum;
    return xx > least && yy > least ? xy / std::sqrt(xx * yy) : kMissing;
}

}  // namespace

double cohen_kappa(std::span<const JudgementPair> pairs, int categories) {
    return kappa(pairs, categories, [](int d) { return d == 0 ? 0.0 : 1.0; });
}

double weighted_kappa(std::span<const JudgementPair> pairs, int categories) {
    return kappa(pairs, categories, [](int d) { return static_cast<double>(d) * d; });
}

double fleiss_kappa(const std::vector<std::vector<int>>& counts) {
    if (counts.empty()) return kMissing;
    const double n = static_cast<double>(counts.size());
    const double judges = std::accumulate(counts[0].begin(), counts[0].end(), 0);
    std::vector<double> shares(counts[0].size(), 0.0);
    double agreement = 0;
    for (const std::vector<int>& row : counts) {
        double squares = 0;
        for (std::size_t j = 0; j < row.size(); ++j) {
            shares[j] += row[j] / (n * judges);
            squares += static_cast<double>(row[j]) * row[j];
        }
        agreement += (squares - judges) / (judges * (judges - 1)) / n;
    }
    double chance = 0;
    for (const double share : shares) chance += share * share;
    return chance < 1 - 1e-12 ? (agreement - chance) / (1 - chance) : kMissing;
}

double weighted_spearman(std::span<const double> x, std::span<const double> y,
                         std::span<const double> weight) {
    if (x.size() < 3) return kMissing;
    return weighted_correlation(weighted_ranks(x, weight), weighted_ranks(y, weight), weight);
}

}  // namespace hearwood
