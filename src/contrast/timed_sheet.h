// Sheets whose lines are sites on dates, in cells of the day or in seasons: values of sites by the
// additive model (statistics/additive_model.h), and those of each season.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "contrast/seasons.h"
#include "contrast/values_sheet.h"
#include "statistics/timed_values.h"

namespace hearwood {

struct TimedRow {
    std::string index, window;
    TimedSite site;
};

struct SheetAnswer {
    std::vector<SiteValue> values;       ///< one a site, index and window
    std::vector<TimedRow> timed;         ///< how they came about; empty where each is a line's own
    std::vector<std::string> seasons;    ///< in the order of their first dates, else of their names
    std::vector<SeasonValue> by_season;  ///< both empty unless there are several
};

/// Lines with a date and a cell are modelled; those with one of the two where a site has several
/// lines of an outcome, or all lines of a season have one date or cell. (Where each site has a
/// single value, on a date of its own, no model could compare them: the date is left alone.) Over
/// all seasons a date, or without dates the season, is the model's date.
SheetAnswer answer_of(std::span<const SheetValue> lines);

/// The columns of out.site_values.csv.
TableOf<TimedRow> site_values_table();

}  // namespace hearwood
