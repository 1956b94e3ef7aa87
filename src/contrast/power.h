// How many sites are needed to see a difference, in words and in the unit of a pilot survey.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "contrast/contrast.h"
#include "statistics/power.h"
#include "survey/survey.h"

namespace hearwood {

/// Spread of a pilot survey's site values: the residual standard deviation of the additive block
/// model (the pooled one within classes without blocks). NaN when no degree of freedom is left.
double pilot_spread(std::span<const Unit> units, const ContrastPlan& plan);

/// Table for `plan --power`, 80 columns: sites a class against power, least attainable p said
/// plainly for the numbers at which no result can be significant. `spread` (standard deviation of
/// site values within a class of a pilot survey, in the index's unit) adds what the effect is in
/// that unit.
std::string power_table(const PowerCase& power_case, std::span<const PowerStep> steps,
                        std::optional<double> spread);

struct PowerQuestion {
    double effect_sd = 1;  ///< the difference, in standard deviations of sites
    int most_sites = 12;   ///< largest number of sites a class to try
    std::optional<double> spread;
};
struct PowerAnswer {
    PowerCase power_case;
    std::vector<PowerStep> steps;
    std::optional<double> spread;  ///< stated, or of the pilot
    std::string text;              ///< for the terminal
};
/// How many sites this survey needs. `pilot`: a measured survey whose spread is taken where none is
/// stated; null: the survey itself, when it is measured. Errors: InputError for a pilot that cannot
/// be read; that the survey itself is not measured yet is none.
PowerAnswer power_of(const Survey& survey, const PowerQuestion& question, const Survey* pilot);

}  // namespace hearwood
