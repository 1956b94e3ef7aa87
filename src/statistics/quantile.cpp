#include "statistics/quantile.h"

#include <cmath>
#include <utility>

#include "base/missing.h"

namespace hearwood {

double median(std::vector<double> values) {
    if (values.empty()) return kMissing;
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    if (values.size() % 2 == 1) return *middle;
    return (*std::max_element(values.begin(), middle) + *middle) / 2;
}

double median_deviation(const std::vector<double>& values) {
    const double middle = median(values);
    std::vector<double> distances;
    distances.reserve(values.size());
    for (const double value : values) distances.push_back(std::abs(value - middle));
    return median(std::move(distances));
}

double quantile(std::vector<double> values, double share) {
    if (values.empty()) return kMissing;
    const double at = share * static_cast<double>(values.size() - 1);
    const auto low = values.begin() + static_cast<std::ptrdiff_t>(at);
    std::nth_element(values.begin(), low, values.end());
    const double part = at - std::floor(at);
    if (part == 0) return *low;
    const double next = *std::min_element(low + 1, values.end());
    if (next == *low || std::isinf(next)) return next;
    return *low + (next - *low) * part;
}

}  // namespace hearwood
