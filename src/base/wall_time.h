// The two kinds of time, which must never be mixed up: what a clock on a wall (or in a recorder)
// shows, and a point of time in the world.
#pragma once

#include <chrono>

namespace hearwood {

/// A wall-clock time with no zone: what a recorder or a person wrote. Milliseconds.
using LocalTime = std::chrono::local_time<std::chrono::milliseconds>;
/// A point of time (UTC). Milliseconds.
using Instant = std::chrono::sys_time<std::chrono::milliseconds>;

}  // namespace hearwood
