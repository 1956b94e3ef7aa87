// The settings that `robustness` tries, and the site values under each.
#pragma once

#include <string>
#include <vector>

#include "aggregate/even_variants.h"
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

/// The contrast under every combination and without each site. `grid` holds the measured values.
Robustness contrast_settings(const Survey& survey, const SettingsPlan& plan, const Store& measured,
                             const Store& grid);

/// The contrast under the declared setting, as if a decision (into Survey::decisions) had not been
/// made. `grid` holds values measured without it, the declared setting first of `members`.
WithoutSite contrast_without(const Survey& survey, const SettingsPlan& plan, std::size_t decision,
                             const Store& measured, const Store& grid, std::size_t members);

}  // namespace hearwood
