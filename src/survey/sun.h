// Sunrise and sunset: NOAA's formulas (after Meeus, Astronomical Algorithms), evaluated at the
// event itself.
#pragma once

#include <chrono>
#include <optional>

#include "survey/zone.h"

namespace hearwood {

/// Zenith angle of the sun's centre at sunrise and sunset: 90 degrees, 34' refraction, 16' half
/// diameter.
inline constexpr double kSunriseZenithDegrees = 90.833;

struct SunTimes {
    enum class State { rises_and_sets, always_up, always_down };
    State state = State::rises_and_sets;
    std::optional<Instant> sunrise, sunset;  ///< both or, when the sun stays up or down, neither
};

/// The sunrise before and the sunset after the solar noon nearest to 12:00 of the local date, not
/// rounded (to the millisecond). Far north a sunset may thus fall after midnight and still belong
/// to its date. Where either is missing the date counts as all day or all night. Good to about 10 s
/// up to latitudes of 60 degrees for 1950 to 2100.
SunTimes sun_times(std::chrono::local_days date, double latitude, double longitude,
                   const Zone& zone);

/// Geometric zenith angle of the sun's centre in degrees, without refraction.
double solar_zenith_degrees(Instant instant, double latitude, double longitude);

}  // namespace hearwood
