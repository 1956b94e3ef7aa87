// Where an instant lies in the day of a site: local date and hour, window, minutes from sunrise.
#pragma once

#include <chrono>
#include <cstddef>
#include <memory>
#include <optional>

#include "base/missing.h"
#include "survey/sun.h"
#include "survey/survey.h"
#include "survey/zone.h"

namespace hearwood {

struct DayPart {
    std::chrono::local_days date;         ///< of the local clock
    int hour = 0;                         ///< of the local clock, 0 to 23
    std::chrono::seconds offset{0};       ///< local minus UTC
    int window = -1;                      ///< into Survey::windows; -1: in none
    std::chrono::local_days window_date;  ///< the date the window belongs to; `date` when in none
    /// Quarter of an hour within the window's day: counted from the sun's event where the window
    /// hangs on one (its `from`, else its `to`; quarter i is [i, i + 1) * 15 minutes after it, i
    /// may be negative), else from midnight of the local clock. Meaningless in no window.
    int quarter = 0;
    double minutes_from_sunrise = kMissing;  ///< of `date`; NaN: no sunrise
};

struct Span {
    Instant from, to;  ///< [from, to)
};

/// Finds day parts. One object serves all threads; sun and windows are worked out once a site and
/// date, so that a call costs well under a microsecond. Keeps copies of the survey's windows and of
/// its sites' coordinates.
///
/// A window belongs to the date in which its `from` lies. Its `to` is the first one after that: on
/// the same date or, where the window crosses midnight, on the next; a night belongs to its
/// evening. Where windows overlap the first in Survey::windows has the instant. On a date on which
/// the sun stays up, a window from sunrise to sunset is the whole date; on one on which it stays
/// down, a window from sunset to sunrise; no other window that hangs on the sun exists then.
class DayParts {
  public:
    explicit DayParts(const Survey& survey);
    ~DayParts();
    DayParts(DayParts&&) noexcept;
    DayParts& operator=(DayParts&&) noexcept;

    /// `site` is an index into Survey::sites.
    DayPart of(std::size_t site, Instant instant) const;
    /// When the window of that date is, where it exists.
    std::optional<Span> span(std::size_t site, std::chrono::local_days date,
                             std::size_t window) const;
    SunTimes sun(std::size_t site, std::chrono::local_days date) const;
    const Zone& zone() const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

}  // namespace hearwood
