#include "statistics/kappa.h"

#include <algorithm>
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

}  // namespace hearwood
