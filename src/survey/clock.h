// A recorder's clock under a deployment: its zone, and its error between the two clock checks.
#pragma once

#include <chrono>
#include <optional>
#include <string>

#include "survey/survey.h"
#include "survey/zone.h"

namespace hearwood {

/// A start further than this outside the sheet's dates is no early switch-on but a clock that lost
/// its time.
inline constexpr std::chrono::days kPlausibleAroundDates{30};

class RecorderClock {
  public:
    RecorderClock(const Survey& survey, const Deployment& deployment);

    struct Reading {
        Instant instant;  ///< true time
        double correction_s =
            0;  ///< what was added to the recorder's own time: minus the clock's error
    };
    /// True time of a wall-clock time that the recorder wrote. `stated_offset` is the offset that
    /// the file itself states ('Z' or +08:00 in its name); it stands in for the deployment's zone.
    /// The clock's error applies in both cases. Between the two checks (at the deployment's start
    /// and end) the error runs linearly; before the first and after the second it stays at theirs;
    /// with one check it is that one throughout; with none it is taken for zero.
    Reading read(LocalTime wall, std::optional<std::chrono::seconds> stated_offset = {}) const;

    enum class Checks { none, one, both };
    Checks checks() const { return checks_; }
    /// One plain sentence on what fewer than two checks do to the dawn window; empty with both.
    std::string advice() const;
    const Zone& zone() const { return zone_; }

  private:
    Zone zone_;
    Checks checks_ = Checks::none;
    double error_start_s_ = 0, error_end_s_ = 0;
    Instant first_{}, second_{};  ///< what the recorder showed at the two checks; equal: no drift
};

}  // namespace hearwood
