#include "statistics/rank_correlation.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "base/missing.h"
#include "statistics/random.h"

namespace hearwood {

namespace {

/// True when n! is not beyond the limit.
bool orders_within(std::size_t n, std::int64_t limit) {
    std::int64_t product = 1;
    for (std::size_t i = 2; i <= n; ++i) {
        product *= static_cast<std::int64_t>(i);
        if (product > limit) return false;
    }
    return true;
}

/// Ranks minus their mean.
std::vector<double> centred_ranks(const std::vector<double>& values) {
    std::vector<double> ranks = mean_ranks(values);
    const double mean = (static_cast<double>(ranks.size()) + 1) / 2;
    for (double& rank : ranks) rank -= mean;
    return ranks;
}

double dot(const std::vector<double>& x, const std::vector<double>& y) {
    return std::inner_product(x.begin(), x.end(), y.begin(), 0.0);
}

/// Sets of orders kept at a time: each is up to 1.6 MB.
constexpr std::size_t kKeptSets = 16;

/// Abs of the sum of products over all orders of y. Ranks are halves, so the sums are exact.
std::vector<double> all_orders(const std::vector<double>& x, const std::vector<double>& y) {
    // Orders of the places, not of the values: tied ranks still count as n! orders.
    std::vector<std::size_t> order(y.size());
    std::iota(order.begin(), order.end(), 0u);
    std::vector<double> products;
    do {
        double sum = 0;
        for (std::size_t i = 0; i < order.size(); ++i) sum += x[i] * y[order[i]];
        products.push_back(std::abs(sum));
    } while (std::next_permutation(order.begin(), order.end()));
    return products;
}

std::vector<double> random_orders(const std::vector<double>& x, std::vector<double> y,
                                  std::int64_t draws, std::uint64_t seed) {
    Random random(seed, "orders");
    std::vector<double> products;
    for (std::int64_t d = 0; d < draws; ++d) {
        for (std::size_t i = y.size(); i > 1; --i) std::swap(y[i - 1], y[random.below(i)]);
        products.push_back(std::abs(dot(x, y)));
    }
    return products;
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

std::vector<double> mean_ranks(std::span<const double> values) {
    std::vector<std::size_t> order(values.size());
    std::iota(order.begin(), order.end(), 0u);
    std::sort(order.begin(), order.end(), [&](auto i, auto j) { return values[i] < values[j]; });
    std::vector<double> ranks(values.size());
    for (std::size_t i = 0; i < order.size();) {
        std::size_t end = i;
        while (end < order.size() && values[order[end]] == values[order[i]]) ++end;
        const double rank = (static_cast<double>(i + 1) + static_cast<double>(end)) / 2;
        for (; i < end; ++i) ranks[order[i]] = rank;
    }
    return ranks;
}

RankCorrelations::RankCorrelations(std::uint64_t seed, const PermutationLimits& limits)
    : seed_(seed), limits_(limits) {}

const std::vector<double>& RankCorrelations::null_products(const Ranks& x, const Ranks& y,
                                                           bool exact) {
    std::pair<Ranks, Ranks> key{x, y};
    std::sort(key.first.begin(), key.first.end());
    std::sort(key.second.begin(), key.second.end());
    const auto known = kept_.find(key);
    if (known != kept_.end()) return known->second;
    if (kept_.size() >= kKeptSets) kept_.clear();
    std::vector<double> products = exact
                                       ? all_orders(key.first, key.second)
                                       : random_orders(key.first, key.second, limits_.draws, seed_);
    std::sort(products.begin(), products.end());
    return kept_.emplace(std::move(key), std::move(products)).first->second;
}

Correlation RankCorrelations::of(std::span<const double> x, std::span<const double> y) {
    std::vector<double> kept_x, kept_y;
    for (std::size_t i = 0; i < x.size(); ++i) {
        if (is_missing(x[i]) || is_missing(y[i])) continue;
        kept_x.push_back(x[i]);
        kept_y.push_back(y[i]);
    }
    Correlation result{kMissing, kMissing, static_cast<int>(kept_x.size()), true};
    if (result.n < 4) return result;
    const Ranks rx = centred_ranks(kept_x), ry = centred_ranks(kept_y);
    const double scale = std::sqrt(dot(rx, rx) * dot(ry, ry));
    if (scale == 0) return result;
    result.rho = dot(rx, ry) / scale;
    result.exact = orders_within(kept_x.size(), limits_.enumerate);
    const std::vector<double>& products = null_products(rx, ry, result.exact);
    const double bar = (std::abs(result.rho) - 1e-9) * scale;
    const auto hits = products.end() - std::lower_bound(products.begin(), products.end(), bar);
    // The observed order is one of all orders, and is counted beside random ones.
    const int itself = result.exact ? 0 : 1;
    result.p = static_cast<double>(hits + itself) /
               static_cast<double>(static_cast<std::int64_t>(products.size()) + itself);
    return result;
}

Correlation spearman(std::span<const double> x, std::span<const double> y, std::uint64_t seed,
                     const PermutationLimits& limits) {
    return RankCorrelations(seed, limits).of(x, y);
}

double weighted_spearman(std::span<const double> x, std::span<const double> y,
                         std::span<const double> weight) {
    if (x.size() < 3) return kMissing;
    return weighted_correlation(weighted_ranks(x, weight), weighted_ranks(y, weight), weight);
}

}  // namespace hearwood
