// Where a segment stands in time: its true start, the date, hour and window its midpoint falls in,
// how far it is from sunrise, and whether the recorder was at its site (docs/tables.md).
#pragma once

#include <chrono>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "survey/clock.h"
#include "survey/day_part.h"
#include "survey/survey.h"

namespace hearwood {

/// Days since 1970-01-01: the date as a key that sorts.
inline std::int32_t day_number(Date date) {
    return static_cast<std::int32_t>(date.time_since_epoch().count());
}

struct Placement {
    Instant start{};   ///< of the segment, true time (corrected)
    Instant middle{};  ///< its midpoint
    DayPart part;      ///< of its midpoint: date, hour, window and its date, minutes from sunrise
    bool inside =
        true;  ///< midpoint within the deployment's [start, end); true where the sheet says neither
};

/// The true start of one of a deployment's recordings, which those after it follow.
struct TrueStart {
    std::string recording;  ///< path as stored; empty: its first
    Instant instant;
    std::size_t decision;  ///< into Survey::decisions
};

/// Places recordings and their segments. One object serves all threads.
class Placer {
  public:
    explicit Placer(const Survey& survey);

    /// True start of a recording, and the seconds added to what its recorder wrote. `wall` is what
    /// the recorder's clock showed; `stated_offset_s` the offset from UTC that the file itself
    /// states, if any.
    RecorderClock::Reading recording(std::size_t deployment, LocalTime wall,
                                     std::optional<int> stated_offset_s) const;

    /// The segment that begins offset_s after its recording's true start.
    Placement segment(std::size_t deployment, Instant recording_start, double offset_s,
                      double duration_s) const;

    /// True time of the deployment's start and end, where the sheet gives them.
    std::optional<Instant> begins(std::size_t deployment) const {
        return places_[deployment].begins;
    }
    std::optional<Instant> ends(std::size_t deployment) const { return places_[deployment].ends; }
    /// The rate that a decision says to measure the deployment at; 0: none.
    int decided_rate(std::size_t deployment) const { return places_[deployment].decided_rate; }
    /// What decisions say of the deployment's clock.
    const std::vector<TrueStart>& true_starts(std::size_t deployment) const {
        return places_[deployment].true_starts;
    }
    const RecorderClock& clock(std::size_t deployment) const { return places_[deployment].clock; }
    const DayParts& days() const { return days_; }
    const Zone& zone() const { return days_.zone(); }

  private:
    struct Place {
        RecorderClock clock;
        std::size_t site;
        std::optional<Instant> begins, ends;
        std::vector<TrueStart> true_starts;
        int decided_rate = 0;
    };
    DayParts days_;
    std::vector<Place> places_;  ///< parallel to Survey::deployments
};

/// Seconds to the nearest millisecond, which is how times are kept.
std::chrono::milliseconds to_milliseconds(double seconds);

/// Two weeks without a recorder part two visits of a site; a card that is changed does not.
inline constexpr std::chrono::days kBetweenVisits{14};

/// Of each deployment which visit to its site it belongs to, from 1 on, by the dates of the sheet.
/// One without dates belongs to the first.
std::vector<int> visits_of_sites(const Survey& survey);

}  // namespace hearwood
