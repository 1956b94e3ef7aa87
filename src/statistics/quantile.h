// Medians and quantiles. Three rules are in use, and numbers of the tables depend on which: each
// has one name here.
#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

namespace hearwood {

/// Of an even count the mean of the middle two; NaN of none. REQUIRES: nothing missing.
double median(std::vector<double> values);

/// Median of the distances from the median; NaN of none. REQUIRES: nothing missing.
double median_deviation(const std::vector<double>& values);
/// Of a normal sample so many of them are its standard deviation: 1 / 0.6745.
inline constexpr double kDeviationsPerMedian = 1.4826;

/// Of an even count the larger of the middle two: a value that was there. REQUIRES: not empty.
template <typename Value>
Value upper_median(std::vector<Value> values) {
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    return *middle;
}

/// Linear interpolation between the order statistics around share (n - 1) (type 7 of Hyndman & Fan
/// 1996); NaN of none. An infinite value takes part as such.
double quantile(std::vector<double> values, double share);

}  // namespace hearwood
