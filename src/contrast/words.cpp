#include "contrast/words.h"

#include <algorithm>

#include "base/text.h"

namespace hearwood {

namespace {

constexpr std::size_t kColumns = 80;

bool starts_character(char c) {
    return (static_cast<unsigned char>(c) & 0xC0u) != 0x80u;
}

std::size_t characters(std::string_view text) {
    return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), starts_character));
}

std::string spaces(int width, std::string_view text) {
    const auto used = static_cast<int>(characters(text));
    return std::string(static_cast<std::size_t>(std::max(0, width - used)), ' ');
}

}  // namespace

std::string right(std::string_view text, int width) {
    return spaces(width, text) + std::string(text);
}

std::string left(std::string_view text, int width) {
    return std::string(text) + spaces(width, text);
}

std::string cut(std::string_view text, int width) {
    if (characters(text) <= static_cast<std::size_t>(width)) return std::string(text);
    std::string kept;
    int count = 0;
    for (const char c : text) {
        if (starts_character(c) && ++count >= width) break;
        kept += c;
    }
    return kept + "…";
}

std::string wrapped(std::string_view text, int indent) {
    std::string out, line;
    const std::string margin(static_cast<std::size_t>(indent), ' ');
    for (const std::string& word : split(text, ' ')) {
        if (!line.empty() && characters(line) + 1 + characters(word) > kColumns) {
            out += line + '\n';
            line = margin + word;
        } else {
            line += (line.empty() ? "" : " ") + word;
        }
    }
    return out + line + '\n';
}

}  // namespace hearwood
