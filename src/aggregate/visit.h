// Visits: a site is recorded, taken in, and months later recorded again.
#pragma once

#include <chrono>
#include <vector>

#include "survey/survey.h"

namespace hearwood {

/// Two weeks without a recorder part two visits of a site; a card that is changed does not.
inline constexpr std::chrono::days kBetweenVisits{14};

/// Of each deployment which visit to its site it belongs to, from 1 on, by the dates of the sheet.
/// One without dates belongs to the first.
std::vector<int> visits_of_sites(const Survey& survey);

}  // namespace hearwood
