// Which hours of a deployment were recorded, which should have been, and which can be used
// (docs/coverage.md).
#pragma once

#include <cstddef>
#include <map>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "aggregate/known_recordings.h"
#include "aggregate/placement.h"
#include "base/finding.h"
#include "survey/survey.h"

namespace hearwood {

/// Minutes by local date and hour. A repeated hour holds up to 120.
class HourMinutes {
  public:
    explicit HourMinutes(const Zone& zone) : zone_(zone) {}
    /// Shares [from, to) out over the hours it touches, each minute counted `weight` times.
    void add(Instant from, Instant to, double weight = 1);
    void put(Date date, int hour, double minutes);
    double at(Date date, int hour) const;
    const std::map<std::pair<Date, int>, double>& all() const { return minutes_; }

  private:
    Zone zone_;
    std::map<std::pair<Date, int>, double> minutes_;
};

struct HourCoverage {
    Date date{};
    int hour = 0;
    double expected = 0, present = 0, usable = 0;  ///< minutes
};

struct DeploymentCoverage {
    std::size_t deployment = 0;
    enum class Expectation { sheet, rhythm, none };
    Expectation expectation = Expectation::none;
    std::vector<HourCoverage> hours;  ///< by date and hour; those with any minutes of the three
    double expected = 0, present = 0, usable = 0;  ///< their sums
    std::vector<Finding> findings;                 ///< of the deployment; serious: hours are lost
};

/// Coverage of one deployment from all its recordings. `usable` holds the minutes of kept segments;
/// without it (nothing measured yet) what can be read counts as usable.
DeploymentCoverage coverage_of(const Survey& survey, const Placer& placer, std::size_t deployment,
                               std::span<const KnownRecording> recordings,
                               const HourMinutes* usable);

/// Adds a kept segment of one of `channels` channels.
void add_usable(HourMinutes& usable, Instant start, double duration_s, int channels);

/// The calendar of a survey as lines for the terminal: a row a deployment, a character a date, at
/// most `width` wide. With `all` every deployment, and hour by hour those with serious findings,
/// for at most kCalendarDates dates; else those that are not wholly there, kCalendarRows at most,
/// and how many others there are.
std::string coverage_calendar(const Survey& survey, std::span<const DeploymentCoverage> coverages,
                              bool all = true, std::size_t width = 80);
inline constexpr std::size_t kCalendarRows = 8;
inline constexpr std::size_t kCalendarDates = 14;

/// What the traces of a deployment point to (battery, card, schedule, clock; docs/coverage.md),
/// those that cost hours first. `coverage` has its hours and sums.
std::vector<Finding> coverage_findings(const Survey& survey, const Placer& placer,
                                       const DeploymentCoverage& coverage,
                                       std::span<const KnownRecording> recordings);

}  // namespace hearwood
