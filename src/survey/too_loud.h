// The decision that a site is compared on even terms however loud it is (docs/even.md).
#pragma once

#include <algorithm>
#include <cstddef>

#include "survey/survey.h"

namespace hearwood {

/// The value of the decision `keep` that says so.
inline constexpr const char* kTooLoud = "too_loud";

inline bool kept_though_loud(const Survey& survey, std::size_t site) {
    return std::any_of(survey.decisions.begin(), survey.decisions.end(),
                       [&](const Decision& decision) {
                           return decision.kind == Decision::Kind::keep && decision.site == site &&
                                  decision.screen == kTooLoud;
                       });
}

}  // namespace hearwood
