// The two-class permutation test on residuals, and its interval. Internal to this folder.
#pragma once

#include <cstdint>
#include <vector>

#include "contrast/relabel.h"

namespace hearwood {

struct TestResult {
    double difference = 0;  ///< T
    double p = 1, p_min = 1;
    double ci_low = 0, ci_high = 0;
};

/// `values` of units in the layout's order. Two-sided p of T and the interval of the shift at
/// `level`.
TestResult permutation_test(const std::vector<double>& values, const Layout& layout,
                            const Relabellings& relabellings, double level);

/// p alone, without the interval: for simulations.
double permutation_p(const std::vector<double>& values, const Layout& layout,
                     const Relabellings& relabellings);

/// How far abs(T*) may fall short of abs(T) and still count as reaching it: ties must not hang on
/// the last bit. 1e-9 * max(abs T, max abs(y - mean y)).
double tie_tolerance(const std::vector<double>& values, double difference);

}  // namespace hearwood
