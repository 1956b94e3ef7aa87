// Effect sizes of two samples.
#pragma once

#include <vector>

namespace hearwood {

/// Standard deviation within the classes, pooled with nA + nB - 2 degrees of freedom. Exactly 0
/// where both classes are constant.
double pooled_deviation(const std::vector<double>& a, const std::vector<double>& b);

/// difference / pooled deviation * (1 - 3 / (4 df - 1)), df = nA + nB - 2; NaN if the deviation is
/// 0 or no more than rounding (kRounding; Hedges 1981).
double hedges_g(double difference, const std::vector<double>& a, const std::vector<double>& b);

/// (pairs with a > b - pairs with a < b) / all pairs (Cliff 1993).
double cliffs_delta(const std::vector<double>& a, const std::vector<double>& b);

}  // namespace hearwood
