#include "contrast/power.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "base/lines.h"
#include "base/text.h"
#include "contrast/permutation.h"
#include "contrast/random.h"
#include "contrast/units.h"
#include "contrast/words.h"

namespace hearwood {

namespace {

// A simulated survey needs no finer p than the level asks for; the full test would take a hundred
// times as long.
constexpr RelabelLimits kSimulationLimits{2000, 1999};

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

/// Least p of the whole test, which may have more relabellings than the simulation's.
double least_p(const PowerCase& power_case) {
    const RelabelLimits full;
    const auto count = count_relabellings(layout_of(power_case), full.enumerate);
    if (!count) return 1 / static_cast<double>(full.draws + 1);
    return (power_case.n_a == power_case.n_b ? 2.0 : 1.0) / static_cast<double>(*count);
}

}  // namespace

PowerResult simulate_power(const PowerCase& power_case) {
    const PairTest test(layout_of(power_case), power_case.seed, kSimulationLimits);
    PowerResult result;
    result.relabellings = test.reported();
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

double pilot_spread(std::span<const Unit> units, const ContrastPlan& plan) {
    const std::vector<std::string> classes = {plan.class_a, plan.class_b};
    const ReadyUnits ready = ready_units(units, classes);
    if (ready.counts[0] == 0 || ready.counts[1] == 0) return kMissing;
    return std::sqrt(residual_variance(ready));
}

std::vector<PowerStep> power_steps(PowerCase power_case, int most) {
    std::vector<PowerStep> steps;
    for (int n = 2; n <= most; ++n) {
        power_case.n_a = power_case.n_b = n;
        steps.push_back({n, simulate_power(power_case)});
    }
    return steps;
}

std::string power_table(const PowerCase& power_case, std::span<const PowerStep> steps,
                        std::optional<double> spread) {
    std::string text =
        fmt::format("Power of the exact test for a difference of {} standard deviations of sites",
                    readable_number(power_case.effect_sd));
    if (spread)
        text +=
            fmt::format(" ({} in the index's unit, at the pilot's spread of {})",
                        readable_number(power_case.effect_sd * *spread), readable_number(*spread));
    const bool blocks = power_case.blocks > 1;
    text = wrapped(text + fmt::format("{}, {} simulated surveys each, seed {}.",
                                      blocks ? fmt::format(" in {} blocks", power_case.blocks) : "",
                                      power_case.simulations, power_case.seed));
    text += '\n' + right(blocks ? "sites a class and block" : "sites a class", 24) +
            right("least p", 12) + right("power", 10) + right("+/-", 8) + '\n';
    std::optional<int> enough;
    int most = 0;
    for (const auto& [n, result] : steps) {
        most = n;
        const bool hopeless = !reaches(result.p_min, power_case.level);
        text +=
            right(std::to_string(n), 24) + right(readable_p(result.p_min), 12) +
            (hopeless ? "   no result can be significant\n"
                      : right(fmt::format("{:.2f}", result.power), 10) +
                            right(fmt::format("{:.2f}", 1.96 * result.standard_error), 8) + '\n');
        if (!enough && result.power >= 0.8) enough = n;
    }
    text += '\n';
    text += wrapped(
        enough ? fmt::format("From {} sites a class{} on, four surveys in five or more would show "
                             "such a difference (power 0.8).",
                             *enough, blocks ? " and block" : "")
               : fmt::format("Up to {} sites a class{}, fewer than four surveys in five would show "
                             "such a difference (power below 0.8).",
                             most, blocks ? " and block" : ""));
    return text;
}

}  // namespace hearwood
