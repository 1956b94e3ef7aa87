// The two kinds of time, which must never be mixed up: what a clock on a wall (or in a recorder)
// shows, and a point of time in the world. And wall-clock times as text, both ways, independent of
// the locale.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

namespace hearwood {

/// A wall-clock time with no zone: what a recorder or a person wrote. Milliseconds.
using LocalTime = std::chrono::local_time<std::chrono::milliseconds>;
/// A point of time (UTC). Milliseconds.
using Instant = std::chrono::sys_time<std::chrono::milliseconds>;
/// A local calendar date.
using Date = std::chrono::local_days;

/// "2031-05-04T05:40:00", milliseconds only where they are not zero (".250").
std::string format_local(LocalTime time);
/// "2031-05-04".
std::string format_date(std::chrono::local_days date);
/// "05:40", rounded down to the minute; nearest-minute rounding is the caller's.
std::string format_clock(LocalTime time);

/// "2031-05-04 05:40" or "2031-05-04 5:40", with 'T' for the space, with seconds, with a fraction
/// of up to three digits. Years 1900 to 2199.
std::optional<LocalTime> parse_local_time(std::string_view text);
/// "2031-05-04".
std::optional<std::chrono::local_days> parse_date(std::string_view text);

}  // namespace hearwood
