// Power of the exact test by simulation.
#pragma once

#include <cstdint>
#include <vector>

namespace hearwood {

struct PowerCase {
    int n_a = 4, n_b = 4;  ///< sites a class; with blocks, a class and block
    int blocks = 1;        ///< 1: no blocks
    double effect_sd =
        1;                ///< difference in standard deviations of sites within a class (and block)
    double level = 0.95;  ///< p <= 1 - level counts as seen
    std::uint64_t seed = 1;
    int simulations = 2000;
};

struct PowerResult {
    double power = 0;           ///< share of simulated surveys with p <= 1 - level
    double standard_error = 0;  ///< of that share, from the number of simulations
    double p_min = 1;           ///< least attainable p of this design
    std::int64_t permutations = 0;
};

/// Normal site values. Tests with more than 2,000 permutations use 1,999 random ones.
PowerResult simulate_power(const PowerCase& power_case);

struct PowerStep {
    int sites = 0;  ///< a class; with blocks, a class and block
    PowerResult result;
};
/// Equal numbers of sites from 2 to `most`.
std::vector<PowerStep> power_steps(PowerCase power_case, int most);

}  // namespace hearwood
