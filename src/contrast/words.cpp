#include "contrast/words.h"

#include <algorithm>

#include "base/lines.h"

namespace hearwood {

namespace {

bool starts_character(char c) {
    return (static_cast<unsigned char>(c) & 0xC0u) != 0x80u;
}

std::string spaces(int width, std::string_view text) {
    return std::string(static_cast<std::size_t>(std::max(0, width - characters(text))), ' ');
}

}  // namespace

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
