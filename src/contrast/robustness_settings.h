// The settings that `robustness` tries, and the site values under each.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "aggregate/even_terms.h"
#include "contrast/robustness.h"
#include "measure/settings_grid.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// Factors that are measured anew (frame, overlap, bands; of an index on even terms noise, choir
/// share, bands) and those that only choose and average segments (rain screen, window, average).
/// Level 0 of each is the survey's own.
struct SettingsPlan {
    std::string index, window;
    std::vector<Factor> measured, chosen;
    SettingsGrid grid;              ///< all combinations of `measured`, the last factor fastest
    std::vector<EvenVariant> even;  ///< parallel to the grid's settings; empty for other indices
    std::vector<Survey> screens;    ///< the survey under each rain screen
    std::vector<Window> windows;    ///< the primary window and its variants
};

/// The declared primary outcome, else the first index in the first window. Errors: InputError when
/// the survey has no such window.
SettingsPlan plan_settings(const Survey& survey);

/// The survey as its segments may be chosen in any of the variants, each decision taken back too:
/// together these place in the window whatever some variant averages.
std::vector<Survey> widest_choices(const Survey& survey, const SettingsPlan& plan);

struct RobustnessRun {
    Robustness result;              ///< judged; not whole when interrupted
    std::vector<std::string> idle;  ///< factors that change nothing for the index, left out
    std::int64_t failed = 0;        ///< recordings that could not be opened again
    bool interrupted = false;
};
/// Measures what the plan asks for, into stores of its own beside the survey's, so that a stopped
/// run goes on, and contrasts it. Without a decision about a sample rate the recordings are others:
/// they are measured once more, under the declared setting.
RobustnessRun run_robustness(const Survey& survey, const SettingsPlan& plan, const Store& measured,
                             int jobs, bool quiet);

/// Keeps it in survey.db with what it was made under and from, and writes robustness.csv,
/// robustness_grid.csv and robustness.svg.
void keep_robustness(const Survey& survey, const Store& measured, const Robustness& result);
void write_robustness(const Robustness& result, const std::filesystem::path& folder);

/// The contrast under every combination and without each site. `grid` holds the measured values.
Robustness contrast_settings(const Survey& survey, const SettingsPlan& plan, const Store& measured,
                             const Store& grid);

/// The contrast under the declared setting, as if a decision (into Survey::decisions) had not been
/// made. `grid` holds values measured without it, the declared setting first of `members`.
WithoutSite contrast_without(const Survey& survey, const SettingsPlan& plan, std::size_t decision,
                             const Store& measured, const Store& grid, std::size_t members);

}  // namespace hearwood
