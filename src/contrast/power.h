// How many sites are needed to see a difference, in words and in the unit of a pilot survey.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "contrast/contrast.h"
#include "statistics/power.h"

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

}  // namespace hearwood
