#include "base/lines.h"

#include <algorithm>

#include "base/text.h"

namespace hearwood {

int characters(std::string_view text) {
    return static_cast<int>(std::count_if(text.begin(), text.end(), [](char c) {
        return (static_cast<unsigned char>(c) & 0xC0u) != 0x80u;  // not inside of a character
    }));
}

std::string wrapped(std::string_view text, int indent) {
    const std::size_t first = std::min(text.find_first_not_of(' '), text.size());
    const std::string margin(static_cast<std::size_t>(indent), ' ');
    std::string out, line(text.substr(0, first));
    bool begun = false;  // the line holds a word
    for (const std::string& word : split(text.substr(first), ' ')) {
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

std::string list_entry(std::string_view text) {
    return wrapped("  " + std::string(text), 4);
}

}  // namespace hearwood
