#include "screen/rhythm.h"

#include <algorithm>
#include <cmath>

#include "base/missing.h"
#include "index/engine/rank.h"
#include "statistics/quantile.h"

namespace hearwood {
namespace {

int ticks_in(double seconds, double tick_s) {
    return static_cast<int>(std::nearbyint(seconds / tick_s));
}

/// The order statistics around share (n - 1), and how far the share lies between them.
struct Around {
    double low, next, part;
};

Around around(std::span<const float> powers, double share) {
    const double at = share * static_cast<double>(powers.size() - 1);
    const auto rank = static_cast<std::size_t>(at);
    const auto [low, next] = value_and_next_of_rank(powers, rank);
    return {static_cast<double>(low), static_cast<double>(next), at - std::floor(at)};
}

/// The deviation from the mean over `half` ticks on either side, as far as the block goes, clipped
/// at three times its median size, so that one bang does not pass for a rhythm.
std::vector<double> deviations(std::span<const double> levels, int half) {
    const int n = static_cast<int>(levels.size());
    std::vector<double> sums(n + 1, 0.0), u(n);
    for (int i = 0; i < n; ++i) sums[i + 1] = sums[i] + levels[i];
    for (int i = 0; i < n; ++i) {
        const int from = std::max(i - half, 0), to = std::min(i + half + 1, n);
        u[i] = levels[i] - (sums[to] - sums[from]) / (to - from);
    }
    std::vector<float> sizes(u.size());
    std::transform(u.begin(), u.end(), sizes.begin(),
                   [](double value) { return static_cast<float>(std::abs(value)); });
    const auto [low, next, part] = around(std::span<const float>(sizes), 0.5);
    const double cap = 3 * (low + (next - low) * part);
    for (double& value : u) value = std::clamp(value, -cap, cap);
    return u;
}

double largest_autocorrelation(std::span<const double> u, double tick_s) {
    double energy = 0;
    for (const double value : u) energy += value * value;
    if (energy <= 0) return 0;
    double largest = -1;
    for (std::size_t lag = 1; lag < u.size() && static_cast<double>(lag) * tick_s <= 0.25; ++lag) {
        if (static_cast<double>(lag) * tick_s < 0.04) continue;
        double products = 0;
        for (std::size_t i = 0; i + lag < u.size(); ++i) products += u[i] * u[i + lag];
        largest = std::max(largest, products / energy);
    }
    return largest;
}

}  // namespace

double throb_of(std::span<const double> levels, double tick_s) {
    const std::size_t block = ticks_in(5, tick_s);
    const int half = ticks_in(0.5, tick_s) / 2;
    std::vector<double> largest;
    for (std::size_t start = 0; start + block <= levels.size(); start += block)
        largest.push_back(
            largest_autocorrelation(deviations(levels.subspan(start, block), half), tick_s));
    return quantile(std::move(largest), 0.75);
}

double change_by_second(std::span<const float> powers, double tick_s) {
    const std::size_t block = ticks_in(1, tick_s);
    std::vector<double> steps;
    double before = kMissing;
    for (std::size_t start = 0; start + block <= powers.size(); start += block) {
        const auto second = powers.subspan(start, block);
        const double middle = quantiles_db<1>(second, {0.5})[0];
        if (start > 0) steps.push_back(std::abs(middle - before));
        before = middle;
    }
    return quantile(std::move(steps), 0.5);
}

double flicker_of(std::span<const float> powers, double tick_s) {
    const std::size_t span = std::max(1, ticks_in(0.1, tick_s));
    std::vector<double> steps;
    steps.reserve(powers.size() / span);
    double before = kMissing;
    for (std::size_t start = 0; start + span <= powers.size(); start += span) {
        double sum = 0;
        for (const float power : powers.subspan(start, span)) sum += power;
        const double level = 10 * std::log10(sum);
        if (start > 0) steps.push_back(std::abs(level - before));
        before = level;
    }
    return quantile(std::move(steps), 0.5);
}

template <std::size_t n>
std::array<double, n> quantiles_db(std::span<const float> powers,
                                   const std::array<double, n>& shares) {
    std::array<double, n> result;
    result.fill(kMissing);
    if (powers.empty()) return result;
    for (std::size_t i = 0; i < n; ++i) {
        const auto [low, next, part] = around(powers, shares[i]);
        const double low_db = 10 * std::log10(low);
        result[i] = part > 0 ? low_db + part * (10 * std::log10(next) - low_db) : low_db;
    }
    return result;
}

template std::array<double, 1> quantiles_db(std::span<const float>, const std::array<double, 1>&);
template std::array<double, 2> quantiles_db(std::span<const float>, const std::array<double, 2>&);
template std::array<double, 3> quantiles_db(std::span<const float>, const std::array<double, 3>&);

}  // namespace hearwood
