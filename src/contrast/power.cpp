#include "contrast/power.h"

#include <fmt/core.h>

#include <cmath>

#include "base/lines.h"
#include "base/text.h"
#include "contrast/units.h"
#include "contrast/words.h"

namespace hearwood {

double pilot_spread(std::span<const Unit> units, const ContrastPlan& plan) {
    const std::vector<std::string> classes = {plan.class_a, plan.class_b};
    const ReadyUnits ready = ready_units(units, classes);
    if (ready.counts[0] == 0 || ready.counts[1] == 0) return kMissing;
    return std::sqrt(residual_variance(ready));
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
