// Values grouped by what is tested. Internal to this folder.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "contrast/contrast.h"

namespace hearwood {

/// One (index, window) with the values of its sites.
struct Outcome {
    std::string index, window;
    std::vector<Unit> units;
};

/// In order of first appearance.
std::vector<Outcome> outcomes_of(std::span<const SiteValue> values);

/// The outcome's values of the sites, in their order; NaN where a site has none.
std::vector<double> values_at(std::span<const Unit> sites, const Outcome& outcome);

}  // namespace hearwood
