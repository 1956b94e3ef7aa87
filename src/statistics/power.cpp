#include "statistics/power.h"

#include <cmath>

#include "statistics/pair_test.h"
#include "statistics/random.h"

namespace hearwood {

namespace {

// A simulated survey needs no finer p than the level asks for; the full test would take a hundred
// times as long.
constexpr PermutationLimits kSimulationLimits{2000, 1999};

Layout layout_of(const PowerCase& power_case) {
    Layout layout;
    layout.block_count = power_case.blocks;
    for (int b = 0; b < power_case.blocks; ++b) {
        for (int i = 0; i < power_case.n_a + power_case.n_b; ++i) {
            layout.classes.push_back(i < power_case.n_a ? 0 : 1);
            layout.blocks.push_back(b);
        }
    }
    return layout;
}

/// Least p of the whole test, which may have more permutations than the simulation's.
double least_p(const PowerCase& power_case) {
    const PermutationLimits full;
    const auto count = count_permutations(layout_of(power_case), full.enumerate);
    if (!count) return 1 / static_cast<double>(full.draws + 1);
    return (power_case.n_a == power_case.n_b ? 2.0 : 1.0) / static_cast<double>(*count);
}

}  // namespace

PowerResult simulate_power(const PowerCase& power_case) {
    const PairTest test(layout_of(power_case), power_case.seed, kSimulationLimits);
    PowerResult result;
    result.permutations = test.reported();
    result.p_min = least_p(power_case);
    if (!reaches(result.p_min, power_case.level)) return result;
    Random random(power_case.seed, "power");
    std::vector<double> values(test.layout().classes.size());
    int seen = 0;
    for (int s = 0; s < power_case.simulations; ++s) {
        for (std::size_t i = 0; i < values.size(); ++i)
            values[i] =
                random.normal() + (test.layout().classes[i] == 0 ? power_case.effect_sd : 0);
        seen += reaches(test.p(values), power_case.level);
    }
    result.power = static_cast<double>(seen) / power_case.simulations;
    result.standard_error = std::sqrt(result.power * (1 - result.power) / power_case.simulations);
    return result;
}

std::vector<PowerStep> power_steps(PowerCase power_case, int most) {
    std::vector<PowerStep> steps;
    for (int n = 2; n <= most; ++n) {
        power_case.n_a = power_case.n_b = n;
        steps.push_back({n, simulate_power(power_case)});
    }
    return steps;
}

}  // namespace hearwood
