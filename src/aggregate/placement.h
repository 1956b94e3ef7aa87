// Where a segment stands in time: its true start, the local clock, date, hour and window its
// midpoint falls in, how far it is from sunrise, and whether the recorder was at its site
// (docs/measures.md, section 4).
#pragma once

#include <chrono>
#include <cstddef>
#include <memory>
#include <optional>
#include <string>

#include "survey/survey.h"

namespace hearwood {

/// A local calendar date.
using Date = std::chrono::local_days;

/// A point of time on the survey's local clock, with the offset that held then.
struct LocalMoment {
    LocalTime time{};
    std::chrono::seconds offset{};  ///< local minus UTC
};

/// The true start of a recording.
struct RecordingPlace {
    Instant start{};  ///< corrected, UTC
    double correction_s =
        0;  ///< added to what the recorder wrote; negative when its clock ran ahead
};

struct Placement {
    Instant start{};     ///< corrected, UTC
    LocalMoment local;   ///< the same moment on the local clock
    Date date{};         ///< local date of the midpoint
    int hour = 0;        ///< local hour of the midpoint, 0..23
    int window = -1;     ///< into Survey::windows; -1: in none of them
    Date window_date{};  ///< date the window belongs to: a night to the evening that began it
    double minutes_from_sunrise =
        0;               ///< midpoint minus the sunrise of `date`; NaN where the sun does not rise
    bool inside = true;  ///< midpoint within the deployment's start and end
};

/// Places recordings and their segments. Keeps the sun times of the site and date in hand: cheap
/// when segments come in order of site and time, right in any order. Not safe from several threads:
/// one each.
class Placer {
  public:
    explicit Placer(const Survey& survey);
    ~Placer();
    Placer(Placer&&) noexcept;

    /// `written` is the start as the file tells it: on the recorder's own clock (no zone), or, when
    /// the file named a zone or UTC, that instant; the clock's measured error is taken off either
    /// way.
    RecordingPlace recording(std::size_t deployment, LocalTime written) const;
    RecordingPlace recording(std::size_t deployment, Instant written) const;

    /// The segment that begins offset_s after the recording's true start.
    Placement segment(std::size_t deployment, Instant recording_start, double offset_s,
                      double duration_s) const;

    LocalMoment local(Instant instant) const;

  private:
    struct State;
    std::unique_ptr<State> state_;
};

/// "2024-03-10T05:30:00+08:00"; milliseconds only when there are any.
std::string iso_local(const LocalMoment& moment);
/// "2024-03-09T21:30:00Z"
std::string iso_utc(Instant instant);
/// "2024-03-10"
std::string iso_date(Date date);

}  // namespace hearwood
