#include "contrast/power.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "aggregate/site_values.h"
#include "base/lines.h"
#include "base/text.h"
#include "contrast/contrast_inputs.h"
#include "contrast/units.h"
#include "contrast/words.h"
#include "store/store.h"

namespace hearwood {

namespace {

/// Spread of the primary outcome over the sites of a measured survey, and a line that says so.
std::optional<double> spread_of(const Survey& pilot, std::string& text) {
    const ContrastSettings& primary = pilot.contrast;
    if (primary.primary_index.empty())
        throw InputError(
            "the pilot survey declares no primary outcome, so that its spread is not one number",
            "declare [contrast] primary in its survey.toml, or give --spread");
    const Store store = Store::open_read_only(pilot.folder);
    std::vector<Unit> units;
    for (const SiteValue& value : contrast_values(pilot, compute_site_values(pilot, store)))
        if (value.index == primary.primary_index && value.window == primary.primary_window)
            units.push_back(value.unit);
    const double spread = pilot_spread(units, contrast_plan(pilot));
    if (!(spread > 0)) return {};
    text += list_entry(fmt::format("spread {} of {} in {} over the sites of {}",
                                   readable_number(spread), primary.primary_index,
                                   primary.primary_window, printable(pilot.folder.string())));
    return spread;
}

std::optional<double> spread_for(const Survey& survey, const PowerQuestion& question,
                                 const Survey* pilot, std::string& text) {
    if (question.spread) return question.spread;
    if (pilot) return spread_of(*pilot, text);
    if (!Store::exists(survey.folder)) return {};
    try {
        return spread_of(survey, text);
    } catch (const InputError&) {
        return {};  // measured in part, or under other settings: the table in standard deviations
                    // stands
    }
}

}  // namespace

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

PowerAnswer power_of(const Survey& survey, const PowerQuestion& question, const Survey* pilot) {
    PowerAnswer answer;
    PowerCase& power_case = answer.power_case;
    power_case.blocks = std::max(1, static_cast<int>(blocks_of(survey).size()));
    power_case.effect_sd = question.effect_sd;
    power_case.level = survey.contrast.level;
    power_case.seed = survey.contrast.seed;
    answer.spread = spread_for(survey, question, pilot, answer.text);
    answer.steps = power_steps(power_case, question.most_sites);
    answer.text += power_table(power_case, answer.steps, answer.spread);
    return answer;
}

}  // namespace hearwood
