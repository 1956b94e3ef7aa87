// Along a gradient: the slope of site values on a number of the sites, within blocks.
#pragma once

#include <span>
#include <vector>

#include "statistics/orders.h"

namespace hearwood {

inline constexpr int kLeastGradientSites = 4, kLeastGradientValues = 3;

struct GradientResult {
    double slope = 0, t = 0, p = 1;
    double ci_low = 0, ci_high = 0;  ///< -inf and inf where unbounded
};

/// Units with a value and a number x each, all present.
struct GradientInput {
    std::vector<int> blocks;  ///< 0 .. block_count - 1
    int block_count = 1;
    std::vector<double> x, y;
};

/// At least 4 units and 3 different x, and x varies within a block.
bool gradient_testable(const GradientInput& input);

/// Slope of y on x, both taken from their block's mean. x is permuted within blocks: p is the share
/// of orders whose abs slope reaches the observed one, exact where all are enumerated. The interval
/// holds the slopes d for which the test of y - d x keeps p > 1 - level: the formula of the class
/// contrast with c_r = sum x_r x / sum x^2. `orders` are those of x within
/// the blocks, numbers alike not told apart. REQUIRES: gradient_testable(input).
GradientResult gradient_test(const GradientInput& input, double level, const Orders& orders);

/// Step-down max-t over outcomes that share their units: x moves within blocks in all of them at
/// once. `outcomes` holds the units' values, NaN where a unit lacks one, which leaves it out of
/// that outcome. NaN for an outcome that is not testable or that x tells without rest.
std::vector<double> gradient_max_t(std::span<const double> x, std::span<const int> blocks,
                                   int block_count, std::span<const std::vector<double>> outcomes,
                                   std::uint64_t seed, const PermutationLimits& limits = {});

}  // namespace hearwood
