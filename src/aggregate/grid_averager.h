// Site values of one index in one window under every measured setting, with segments chosen as the
// survey says, averaged in each of the ways that `robustness` tries.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// How segments become the value of a site. `adjusted` is what the tables do (docs/tables.md): the
/// additive model of site, date and quarter of an hour. The others are means over dates: of all
/// segments of a date; of the quarters that every compared site has, however few; of the date's
/// median segment.
enum class Averaging { adjusted, plain, shared, median };
inline constexpr std::array kAveragings{Averaging::adjusted, Averaging::plain, Averaging::shared,
                                        Averaging::median};

/// [way of kAveragings][setting][site]; NaN where a site has none.
using GridSiteValues = std::array<std::vector<std::vector<double>>, kAveragings.size()>;

/// `grid` is what measure_grid filled, `members` its number of settings.
GridSiteValues average_grid(const Survey& survey, const Store& measured, const Store& grid,
                            const std::string& window, std::size_t members);

}  // namespace hearwood
