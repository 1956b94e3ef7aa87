// Seasons: does the difference between the classes change from one to the next? Each site is its
// own control: its change is contrasted like any other value (flipping the signs of changes instead
// would lose all power when every site changes alike).
#pragma once

#include <span>
#include <string>
#include <vector>

#include "contrast/contrast.h"

namespace hearwood {

/// A site's value of one index and window in one season.
struct SeasonValue {
    std::string season;
    SiteValue value;
};

/// A row of seasons.csv: one season and the next.
struct SeasonRow {
    std::string index, window;
    std::string season_1, season_2;
    double difference_1 = kMissing, difference_2 = kMissing;  ///< T of each season's own sites
    /// The contrast of (value in season 2 - value in season 1) over the sites that have both.
    ContrastRow change;
    std::string verdict;
};

/// One row for each index, window and pair of neighbouring seasons, in the order of first
/// appearance; `seasons` in the order of time. p_adjusted is over these rows but the primary's.
std::vector<SeasonRow> season_table(std::span<const SeasonValue> values,
                                    std::span<const std::string> seasons, const ContrastPlan& plan);

TableOf<SeasonRow> seasons_table();
std::string seasons_csv(std::span<const SeasonRow> rows);

}  // namespace hearwood
