// Nights of sites under the two-way model of site and date: y = m + site + date + e. What dates did
// everywhere is no noise of a site and narrows nothing when there are more of them; the residual
// is. Internal to this folder.
#pragma once

#include <vector>

#include "contrast/variance.h"

namespace hearwood {

struct SiteNights {
    Unit unit;                     ///< with the site's value
    std::vector<DateValue> dates;  ///< sorted; `mean` is the site's value plus the date's residual
};

struct Nights {
    std::vector<SiteNights> sites;  ///< of the two classes, sorted by name; those comparable
    double squares = 0;             ///< of the residuals
    double freedom = 0;             ///< theirs: nights - sites - dates + 1
};

/// Dates without a value are left out.
Nights nights_of(std::span<const DateValue> values, const ContrastPlan& plan);

}  // namespace hearwood
