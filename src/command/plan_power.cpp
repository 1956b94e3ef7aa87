#include "command/plan_power.h"

#include <fmt/core.h>

#include <algorithm>
#include <set>

#include "aggregate/site_values.h"
#include "base/text.h"
#include "command/open_survey.h"
#include "command/print.h"
#include "contrast/contrast_inputs.h"
#include "contrast/declared.h"
#include "store/store.h"

namespace hearwood {
namespace {

/// Spread of the primary outcome over the sites of a measured survey, and a line that says so.
std::optional<double> spread_of(const Survey& pilot) {
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
    print_entry(fmt::format("spread {} of {} in {} over the sites of {}", readable_number(spread),
                            primary.primary_index, primary.primary_window,
                            printable(pilot.folder.string())));
    return spread;
}

std::optional<double> spread_for(const PowerOptions& options, const Survey& survey) {
    if (options.spread) return options.spread;
    if (!options.pilot.empty()) return spread_of(open_survey(options.pilot));
    if (!Store::exists(survey.folder)) return {};
    try {
        return spread_of(survey);
    } catch (const InputError&) {
        return {};  // measured in part, or under other settings: the table in standard deviations
                    // stands
    }
}

}  // namespace

void add_power_options(Command& command, PowerOptions& options) {
    command
        .add_option("--effect", options.effect_sd,
                    "with --power: that difference, in standard deviations of sites")
        .between(0.01, 20.0)
        .type_name("SD")
        .show_default();
    command
        .add_option("--most-sites", options.most_sites,
                    "with --power: largest number of sites a class to try")
        .between(2, 60)
        .type_name("N")
        .show_default();
    CommandOption spread =
        command
            .add_option("--spread", options.spread,
                        "with --power: standard deviation of site values, in the index's unit")
            .between(1e-12, 1e12)
            .type_name("VALUE");
    command
        .add_option("--pilot", options.pilot,
                    "with --power: take that spread from a measured survey (default: this one, "
                    "when it is measured)")
        .type_name("SURVEY")
        .excludes(spread);
}

PowerAnswer print_power(const PowerOptions& options, const Survey& survey) {
    std::set<std::string> blocks;
    for (const Site& site : survey.sites)
        if (!site.block.empty()) blocks.insert(site.block);
    PowerAnswer answer;
    PowerCase& power_case = answer.power_case;
    power_case.blocks = std::max(1, static_cast<int>(blocks.size()));
    power_case.effect_sd = options.effect_sd;
    power_case.level = survey.contrast.level;
    power_case.seed = survey.contrast.seed;
    answer.spread = spread_for(options, survey);
    answer.steps = power_steps(power_case, options.most_sites);
    fmt::print("{}", power_table(power_case, answer.steps, answer.spread));
    return answer;
}

}  // namespace hearwood
