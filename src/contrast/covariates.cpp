#include "contrast/covariates.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "contrast/contrast.h"
#include "contrast/csv.h"
#include "contrast/random.h"

namespace hearwood {

namespace {

/// n!, or nothing beyond the limit.
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

/// Share of orders of y that reach the observed correlation. Ranks are halves, so all sums are
/// exact.
double permutation_p(const std::vector<double>& x, std::vector<double> y, double bar,
                     std::uint64_t seed, const RelabelLimits& limits, bool exact) {
    std::int64_t hits = 0, rows = 0;
    const auto count = [&] {
        hits += std::abs(dot(x, y)) >= bar;
        ++rows;
    };
    if (exact) {
        // Orders of the places, not of the values: tied ranks still count as n! orders.
        std::vector<std::size_t> order(y.size());
        std::iota(order.begin(), order.end(), 0u);
        const std::vector<double> first = y;
        do {
            for (std::size_t i = 0; i < order.size(); ++i) y[i] = first[order[i]];
            count();
        } while (std::next_permutation(order.begin(), order.end()));
    } else {
        Random random(seed, "orders");
        count();
        while (rows <= limits.draws) {
            for (std::size_t i = y.size(); i > 1; --i) std::swap(y[i - 1], y[random.below(i)]);
            count();
        }
    }
    return static_cast<double>(hits) / static_cast<double>(rows);
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

Correlation spearman(std::span<const double> x, std::span<const double> y, std::uint64_t seed,
                     const RelabelLimits& limits) {
    std::vector<double> kept_x, kept_y;
    for (std::size_t i = 0; i < x.size(); ++i) {
        if (x[i] != x[i] || y[i] != y[i]) continue;
        kept_x.push_back(x[i]);
        kept_y.push_back(y[i]);
    }
    Correlation result{kMissing, kMissing, static_cast<int>(kept_x.size()), true};
    if (result.n < 4) return result;
    const std::vector<double> rx = centred_ranks(kept_x), ry = centred_ranks(kept_y);
    const double scale = std::sqrt(dot(rx, rx) * dot(ry, ry));
    if (scale == 0) return result;
    result.rho = dot(rx, ry) / scale;
    result.exact = orders_within(kept_x.size(), limits.enumerate);
    result.p =
        permutation_p(rx, ry, (std::abs(result.rho) - 1e-9) * scale, seed, limits, result.exact);
    return result;
}

std::string covariates_csv(std::span<const CovariateRow> rows) {
    std::string bytes = "index,window,column,rho,p,n\n";
    CsvLine line;
    for (const CovariateRow& row : rows) {
        line.text(row.index).text(row.window).text(row.column);
        bytes += line.number(row.correlation.rho)
                     .number(row.correlation.p)
                     .count(row.correlation.n)
                     .take();
    }
    return bytes;
}

}  // namespace hearwood
