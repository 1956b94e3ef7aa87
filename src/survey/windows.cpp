#include "survey/windows.h"

#include <fmt/format.h>

#include <cstdlib>

#include "base/text.h"

namespace hearwood {

namespace {

using Anchor = WindowEdge::Anchor;

constexpr int kMostMinutes = 720;

/// "+ 120 min", "-60min" or nothing at all, which is zero.
std::optional<int> shift_minutes(std::string_view text) {
    std::string rest = trim(text);
    if (rest.empty()) return 0;
    const char sign = rest[0];
    if ((sign != '+' && sign != '-') || !rest.ends_with("min")) return {};
    const std::string digits = trim(std::string_view(rest).substr(1, rest.size() - 4));
    if (digits.empty() || digits[0] < '0' || digits[0] > '9') return {};
    const auto minutes = parse_integer(digits);
    if (!minutes || *minutes > kMostMinutes) return {};
    return static_cast<int>(sign == '-' ? -*minutes : *minutes);
}

}  // namespace

std::vector<Window> built_in_windows() {
    return {{"dawn", {Anchor::sunrise, -60}, {Anchor::sunrise, 120}},
            {"dusk", {Anchor::sunset, -60}, {Anchor::sunset, 60}},
            {"day", {Anchor::sunrise, 0}, {Anchor::sunset, 0}},
            {"night", {Anchor::sunset, 0}, {Anchor::sunrise, 0}}};
}

std::optional<std::size_t> window_named(std::span<const Window> windows, std::string_view name) {
    for (std::size_t i = 0; i < windows.size(); ++i)
        if (windows[i].name == name) return i;
    return {};
}

std::optional<int> parse_clock_minutes(std::string_view text) {
    if (text.size() == 4 && text[1] == ':') return parse_clock_minutes("0" + std::string(text));
    if (text.size() != 5 || text[2] != ':') return {};
    for (const std::size_t i : {0, 1, 3, 4})
        if (text[i] < '0' || text[i] > '9') return {};
    const int hour = (text[0] - '0') * 10 + text[1] - '0';
    const int minute = (text[3] - '0') * 10 + text[4] - '0';
    if (minute > 59 || hour * 60 + minute > 24 * 60) return {};
    return hour * 60 + minute;
}

std::optional<WindowEdge> parse_window_edge(std::string_view text) {
    const std::string word = to_lower_ascii(trim(text));
    if (const auto minutes = parse_clock_minutes(word)) return WindowEdge{Anchor::clock, *minutes};
    for (const auto& [name, anchor] :
         {std::pair{"sunrise", Anchor::sunrise}, std::pair{"sunset", Anchor::sunset}})
        if (word.starts_with(name))
            if (const auto minutes = shift_minutes(word.substr(std::string_view(name).size())))
                return WindowEdge{anchor, *minutes};
    return {};
}

std::string format_window_edge(const WindowEdge& edge) {
    if (edge.anchor == Anchor::clock)
        return fmt::format("{:02}:{:02}", edge.minutes / 60, edge.minutes % 60);
    const char* name = edge.anchor == Anchor::sunrise ? "sunrise" : "sunset";
    if (edge.minutes == 0) return name;
    return fmt::format("{}{:+}min", name, edge.minutes);
}

}  // namespace hearwood
