// The day pictures of a survey: full size beside the page, thumbnails for it.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "aggregate/placement.h"
#include "report/segment_gatherer.h"
#include "survey/survey.h"

namespace hearwood {

struct DayEntry {
    std::size_t site = 0;
    Date date{};
    std::string file;           ///< relative to the page: "pictures/l01/2031-05-04.png"
    std::string thumbnail;      ///< PNG bytes
    int width = 0, height = 0;  ///< of the thumbnail
    double kept_minutes = 0, excluded_minutes = 0;
};

struct DayPictures {
    std::vector<DayEntry> days;  ///< by site, then date
    std::size_t dates = 0;  ///< site-dates with segments; more than days.size() when thinned out
};

/// At most so many site-dates are drawn; of more, evenly spread ones.
inline constexpr std::size_t kMostDays = 2000;

/// Draws every site-date into folder/pictures/. Each of `jobs` threads reads the store on its own.
DayPictures draw_days(const Survey& survey, const SegmentGatherer& gathered,
                      const std::filesystem::path& folder, int jobs, bool quiet);

/// One day's picture as PNG bytes, for the command `picture`. Nothing when the site has no segments
/// on that date. Errors: as JudgedSegments.
std::optional<std::string> draw_day(const Survey& survey, std::size_t site, Date date, int width,
                                    int height);

/// "l-01": a name as part of a file name, the same for the same survey; no two sites share one.
std::string file_stem(const Survey& survey, std::size_t site);

}  // namespace hearwood
