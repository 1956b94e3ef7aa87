#include "base/lines.h"

#include <algorithm>
#include <utility>
#include <vector>

#include "base/text.h"

namespace hearwood {

namespace {

bool starts_character(char c) {
    return (static_cast<unsigned char>(c) & 0xC0u) != 0x80u;
}

std::string spaces(int width, std::string_view text) {
    return std::string(static_cast<std::size_t>(std::max(0, width - characters(text))), ' ');
}

std::vector<std::string> words_of(std::string_view text) {
    std::vector<std::string> words;
    for (std::string& word : split(text, ' ')) {
        if (word.starts_with('%') && !words.empty())
            words.back() += ' ' + word;
        else
            words.push_back(std::move(word));
    }
    return words;
}

}  // namespace

int characters(std::string_view text) {
    return static_cast<int>(std::count_if(text.begin(), text.end(), starts_character));
}

std::string_view first_characters(std::string_view text, int count) {
    int seen = 0;
    const auto end = std::find_if(text.begin(), text.end(),
                                  [&](char c) { return starts_character(c) && ++seen > count; });
    return text.substr(0, static_cast<std::size_t>(end - text.begin()));
}

std::string right(std::string_view text, int width) {
    return spaces(width, text) + std::string(text);
}

std::string left(std::string_view text, int width) {
    return std::string(text) + spaces(width, text);
}

std::string cut(std::string_view text, int width) {
    if (characters(text) <= width) return std::string(text);
    return std::string(first_characters(text, width - 1)) + "…";
}

std::string wrapped(std::string_view text, int indent) {
    const std::size_t first = std::min(text.find_first_not_of(' '), text.size());
    const std::string margin(static_cast<std::size_t>(indent), ' ');
    std::string out, line(text.substr(0, first));
    bool begun = false;  // the line holds a word
    for (const std::string& word : words_of(text.substr(first))) {
        if (begun && characters(line) + 1 + characters(word) > kLineColumns) {
            out += line + '\n';
            line = margin + word;
        } else {
            line += (begun ? " " : "") + word;
        }
        begun = true;
    }
    return out + line + '\n';
}

std::string heading(std::string_view title) {
    return "\n" + std::string(title) + "\n";
}

std::string list_entry(std::string_view text, int indent) {
    return wrapped(std::string(static_cast<std::size_t>(indent), ' ') + std::string(text),
                   indent + 2);
}

}  // namespace hearwood
