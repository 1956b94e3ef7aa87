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

}  // namespace hearwood
