#include "contrast/words.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "base/lines.h"
#include "base/text.h"

namespace hearwood {

namespace {

bool starts_character(char c) {
    return (static_cast<unsigned char>(c) & 0xC0u) != 0x80u;
}

std::string spaces(int width, std::string_view text) {
    return std::string(static_cast<std::size_t>(std::max(0, width - characters(text))), ' ');
}

}  // namespace

std::string percent(double share) {
    return readable_plain(100 * share) + " %";
}

std::string readable_plain(double value) {
    // Adding 0 makes a rounded -0 a plain 0.
    return fmt::format("{:.6g}", std::round(value * 1e4) / 1e4 + 0.0);
}

std::string readable_p(double p) {
    if (p != p) return "n/a";
    if (p >= 0.001) return readable_number(p);
    return fmt::format("{:.5f}", p);
}

std::string right(std::string_view text, int width) {
    return spaces(width, text) + std::string(text);
}

std::string left(std::string_view text, int width) {
    return std::string(text) + spaces(width, text);
}

std::string cut(std::string_view text, int width) {
    if (characters(text) <= width) return std::string(text);
    std::string kept;
    int count = 0;
    for (const char c : text) {
        if (starts_character(c) && ++count >= width) break;
        kept += c;
    }
    return kept + "…";
}

}  // namespace hearwood
