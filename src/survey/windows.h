// Windows of the day: the built-in ones, and their edges as text.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "survey/settings.h"

namespace hearwood {

/// dawn [sunrise-60min, sunrise+120min), dusk [sunset-60min, sunset+60min), then day (sunrise to
/// sunset) and night (sunset to sunrise), which thereby are the rest.
std::vector<Window> built_in_windows();

/// Place of the window of that name in the list.
std::optional<std::size_t> window_named(std::span<const Window> windows, std::string_view name);

/// "5:30", "05:30", "24:00" as minutes from midnight.
std::optional<int> parse_clock_minutes(std::string_view text);

/// "sunrise", "sunset", either with "+120min" or "-60min" behind it (spaces allowed, 720 minutes at
/// most), or a clock time from "00:00" to "24:00".
std::optional<WindowEdge> parse_window_edge(std::string_view text);
/// The same way round: "sunrise-60min", "22:00".
std::string format_window_edge(const WindowEdge& edge);

}  // namespace hearwood
