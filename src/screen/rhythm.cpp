#include "screen/rhythm.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace hearwood {
namespace {

constexpr double kMissing = std::numeric_limits<double>::quiet_NaN();

int ticks_in(double seconds, double tick_s) {
    return static_cast<int>(std::nearbyint(seconds / tick_s));
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
    std::vector<double> sizes(u);
    for (double& size : sizes) size = std::abs(size);
    const double cap = 3 * median_of(std::move(sizes));
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
    return quantile_of(std::move(largest), 0.75);
}

double gust_of(std::span<const double> levels, double tick_s) {
    const std::size_t block = ticks_in(1, tick_s);
    std::vector<double> steps;
    double before = kMissing;
    for (std::size_t start = 0; start + block <= levels.size(); start += block) {
        const auto second = levels.subspan(start, block);
        const double middle = median_of({second.begin(), second.end()});
        if (start > 0) steps.push_back(std::abs(middle - before));
        before = middle;
    }
    return median_of(std::move(steps));
}

double median_of(std::vector<double> values) {
    return quantile_of(std::move(values), 0.5);
}

double quantile_of(std::vector<double> values, double share) {
    if (values.empty()) return kMissing;
    const double at = share * static_cast<double>(values.size() - 1);
    const auto low = values.begin() + static_cast<std::ptrdiff_t>(at);
    std::nth_element(values.begin(), low, values.end());
    if (low + 1 == values.end()) return *low;
    const double next = *std::min_element(low + 1, values.end());
    return *low + (next - *low) * (at - std::floor(at));
}

}  // namespace hearwood
