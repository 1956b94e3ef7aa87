#include "survey/sun.h"

#include <cmath>
#include <numbers>

namespace hearwood {

namespace {

using std::chrono::milliseconds;

constexpr double kRadians = std::numbers::pi / 180;
constexpr milliseconds kHalfDay = std::chrono::hours(12);

double wrapped(double degrees) {
    return degrees - 360 * std::floor(degrees / 360);
}

/// Where the sun stands in the sky of the whole earth at one instant.
struct SunPosition {
    double declination;           ///< radians
    double equation_of_time_min;  ///< apparent minus mean solar time
};

/// NOAA's solar calculation (after Meeus, Astronomical Algorithms, low-accuracy position), written
/// down from memory; the variables are NOAA's. Terrestrial time is taken for UTC: the minute
/// between them moves the sun by 3 arc seconds, 0.2 s of sunrise.
SunPosition sun_position(Instant instant) {
    const double days = static_cast<double>(instant.time_since_epoch().count()) / 86'400'000.0;
    const double julian_day = days + 2'440'587.5;
    const double t = (julian_day - 2'451'545) / 36'525;  // centuries from 2000-01-01 12:00

    const double mean_longitude = wrapped(280.46646 + t * (36000.76983 + t * 0.0003032));
    const double mean_anomaly = (357.52911 + t * (35999.05029 - 0.0001537 * t)) * kRadians;
    const double eccentricity = 0.016708634 - t * (0.000042037 + 0.0000001267 * t);
    const double centre = std::sin(mean_anomaly) * (1.914602 - t * (0.004817 + 0.000014 * t)) +
                          std::sin(2 * mean_anomaly) * (0.019993 - 0.000101 * t) +
                          std::sin(3 * mean_anomaly) * 0.000289;
    const double node = (125.04 - 1934.136 * t) * kRadians;
    const double apparent_longitude =
        (mean_longitude + centre - 0.00569 - 0.00478 * std::sin(node)) * kRadians;
    const double mean_obliquity =
        23 + (26 + (21.448 - t * (46.815 + t * (0.00059 - t * 0.001813))) / 60) / 60;
    const double obliquity = (mean_obliquity + 0.00256 * std::cos(node)) * kRadians;

    const double y = std::pow(std::tan(obliquity / 2), 2);
    const double l0 = mean_longitude * kRadians;
    const double e = eccentricity, m = mean_anomaly;
    const double equation = y * std::sin(2 * l0) - 2 * e * std::sin(m) +
                            4 * e * y * std::sin(m) * std::cos(2 * l0) -
                            0.5 * y * y * std::sin(4 * l0) - 1.25 * e * e * std::sin(2 * m);
    return {std::asin(std::sin(obliquity) * std::sin(apparent_longitude)), 4 * equation / kRadians};
}

/// The solar noon nearest to `about`. Rounds, since the equation of time moves by 30 s a day: two
/// settle it, the third covers a noon of the neighbouring date.
Instant solar_noon(Instant about, double longitude) {
    Instant noon = about;
    for (int round = 0; round < 3; ++round) {
        const double equation = sun_position(noon).equation_of_time_min;
        const double minutes = 720 - 4 * longitude - equation;  // after 00:00 UTC of some date
        const auto offset = milliseconds(std::llround(minutes * 60'000));
        const auto ahead = about.time_since_epoch() - offset;
        const auto days = std::llround(static_cast<double>(ahead.count()) / 86'400'000.0);
        noon = Instant(offset + milliseconds(days * 86'400'000));
    }
    return noon;
}

/// When the zenith angle passes that of the horizon between midnight and noon (either order). At
/// `low` the sun is below, at `high` above it; bisected down to a millisecond.
Instant crossing(Instant low, Instant high, double latitude, double longitude) {
    while (std::chrono::abs(high - low) > milliseconds(1)) {
        const Instant middle = low + (high - low) / 2;
        if (solar_zenith_degrees(middle, latitude, longitude) > kSunriseZenithDegrees)
            low = middle;
        else
            high = middle;
    }
    return high;
}

}  // namespace

double solar_zenith_degrees(Instant instant, double latitude, double longitude) {
    const SunPosition sun = sun_position(instant);
    const double utc_minutes =
        static_cast<double>((instant - std::chrono::floor<std::chrono::days>(instant)).count()) /
        60'000.0;
    const double true_solar_minutes = utc_minutes + sun.equation_of_time_min + 4 * longitude;
    const double hour_angle = (true_solar_minutes / 4 - 180) * kRadians;
    const double phi = latitude * kRadians;
    const double cosine = std::sin(phi) * std::sin(sun.declination) +
                          std::cos(phi) * std::cos(sun.declination) * std::cos(hour_angle);
    return std::acos(std::fmin(std::fmax(cosine, -1), 1)) / kRadians;
}

SunTimes sun_times(std::chrono::local_days date, double latitude, double longitude,
                   const Zone& zone) {
    const Instant noon = solar_noon(zone.to_utc(LocalTime(date) + kHalfDay), longitude);
    SunTimes times;
    if (solar_zenith_degrees(noon, latitude, longitude) > kSunriseZenithDegrees) {
        times.state = SunTimes::State::always_down;
        return times;
    }
    const Instant before = noon - kHalfDay, after = noon + kHalfDay;
    if (solar_zenith_degrees(before, latitude, longitude) <= kSunriseZenithDegrees ||
        solar_zenith_degrees(after, latitude, longitude) <= kSunriseZenithDegrees) {
        times.state = SunTimes::State::always_up;
        return times;
    }
    times.sunrise = crossing(before, noon, latitude, longitude);
    times.sunset = crossing(after, noon, latitude, longitude);
    return times;
}

}  // namespace hearwood
