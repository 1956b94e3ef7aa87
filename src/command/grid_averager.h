// Site values of one index in one window under every measured setting, with segments chosen as the
// survey says and averaged as docs/measures.md section 4 says: over segments, then recorders and
// channels, then dates.
#pragma once

#include <string>
#include <vector>

#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct GridSiteValues {
    std::vector<std::vector<double>> means;    ///< [setting][site]; NaN where a site has none
    std::vector<std::vector<double>> medians;  ///< the same with the median over a date's segments
};

/// `grid` is what measure_grid filled, `members` its number of settings.
GridSiteValues average_grid(const Survey& survey, const Store& measured, const Store& grid,
                            const std::string& window, std::size_t members);

}  // namespace hearwood
