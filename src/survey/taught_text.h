// Rules that the ear taught, as sections of survey.toml.
#pragma once

#include <string>
#include <vector>

#include "survey/settings.h"

namespace hearwood {

struct NamedTaughtRule {
    std::string screen;  ///< "rain": section [taught_rain]
    TaughtRule rule;
};

/// The file's text with a section for each rule at its end, in the place of earlier ones of that
/// name; all else stays as it is.
std::string with_taught_rules(const std::string& text, const std::vector<NamedTaughtRule>& rules);

}  // namespace hearwood
