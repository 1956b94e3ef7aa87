#include "statistics/effect.h"

#include <algorithm>
#include <cmath>

#include "base/missing.h"
#include "statistics/pair_test.h"

namespace hearwood {

namespace {

/// Sum of squares around the mean; exactly 0 for equal values, whose mean may be off by a bit.
double sum_of_squares(const std::vector<double>& values) {
    double sum = 0;
    for (const double value : values) sum += value - values.front();
    const double mean = sum / static_cast<double>(values.size());
    double squares = 0;
    for (const double value : values) {
        const double deviation = value - values.front() - mean;
        squares += deviation * deviation;
    }
    return squares;
}

}  // namespace

double pooled_deviation(const std::vector<double>& a, const std::vector<double>& b) {
    const double df = static_cast<double>(a.size() + b.size()) - 2;
    return std::sqrt((sum_of_squares(a) + sum_of_squares(b)) / df);
}

double hedges_g(double difference, const std::vector<double>& a, const std::vector<double>& b) {
    const double deviation = pooled_deviation(a, b);
    // Values of a model that are equal agree to rounding only: a spread of that size is none.
    double largest = 0;
    for (const auto* values : {&a, &b})
        for (const double value : *values) largest = std::max(largest, std::abs(value));
    if (deviation <= kRounding * largest) return kMissing;
    const double df = static_cast<double>(a.size() + b.size()) - 2;
    return difference / deviation * (1 - 3 / (4 * df - 1));
}

double cliffs_delta(const std::vector<double>& a, const std::vector<double>& b) {
    double balance = 0;
    for (const double x : a)
        for (const double y : b) balance += static_cast<double>(x > y) - static_cast<double>(x < y);
    return balance / (static_cast<double>(a.size()) * static_cast<double>(b.size()));
}

}  // namespace hearwood
