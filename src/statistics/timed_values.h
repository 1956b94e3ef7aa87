// Values of sites from values with a date and a cell of the day, by the additive model
// (additive_model.h), with sites, dates and cells as names.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "base/missing.h"

namespace hearwood {

/// One site on one date in one cell, each once. Cells all empty: the model has none.
struct DatedValue {
    std::string site, date, cell;
    double value = kMissing;  ///< NaN: nothing was recorded there
};

struct TimedSite {
    std::string site;
    double value = kMissing;
    int cells = 0;
    double leans = kMissing;
    std::string reason;  ///< why there is no value; empty where there is one
};

/// Of one index and window: every site that occurs, by name. The order of the rows changes nothing.
std::vector<TimedSite> timed_site_values(std::span<const DatedValue> values);

}  // namespace hearwood
