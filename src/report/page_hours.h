// What was recorded and kept, hour by hour, and what took the rest: for the page's strips of a
// site. Internal to this folder.
#pragma once

#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>
#include <vector>

#include "aggregate/coverage.h"
#include "aggregate/judged_segments.h"

namespace hearwood {

struct Page;

/// Minutes that are recorded and not used, by site and by what excludes them. A segment with
/// several reasons counts for the last of them in the order of Reason: what a person silenced or
/// decided before what a screen found.
class LostGatherer : public SegmentVisitor {
  public:
    explicit LostGatherer(const Zone& zone) : zone_(zone) {}
    void segment(const JudgedSegment& segment) override;
    using Lost = std::map<std::pair<std::size_t, Reason>, HourMinutes>;  ///< by site and reason
    Lost finish() { return std::move(lost_); }

  private:
    Zone zone_;
    Lost lost_;
};

/// An hour of a site: minutes due, recorded, kept, and lost by what took them.
struct SiteHour {
    double expected = 0, present = 0, usable = 0;
    /// "rain", "dead", "missing" (due and not recorded), "unread" (recorded, and neither kept nor
    /// excluded by a screen: damaged, too short a rest, not measured yet).
    std::map<std::string, double> lost;
};
/// By site, date and hour.
using SiteHours = std::map<std::pair<std::size_t, Date>, std::map<int, SiteHour>>;
SiteHours site_hours(const Page& page);

/// {"dates": [...], "lost_h": {word: hours}, "sites": [{"name", "runs": [[date's index, from hour,
/// to hour, expected, present, usable, word of what took most or null]]}]}: neighbouring hours that
/// are alike are one run; minutes an hour, to the hundredth.
nlohmann::ordered_json hours_json(const Page& page);

}  // namespace hearwood
