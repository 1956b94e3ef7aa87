#include "command/terminal_look.h"

#include <cctype>

#include "base/progress.h"

namespace hearwood {
namespace {

constexpr std::string_view kBold = "\033[1m", kColourA = "\033[36m", kColourB = "\033[33m",
                           kPlain = "\033[0m";

bool stands_alone(const std::string& text, std::size_t at, std::size_t length) {
    const auto in_word = [&](std::size_t i) {
        const auto byte = static_cast<unsigned char>(text[i]);
        return std::isalnum(byte) != 0 || byte >= 0x80 || byte == '_' || byte == '-';
    };
    return (at == 0 || !in_word(at - 1)) && (at + length == text.size() || !in_word(at + length));
}

void colour_words(std::string& text, const std::string& word, std::string_view colour) {
    if (word.empty()) return;
    for (std::size_t at = text.find(word); at != std::string::npos; at = text.find(word, at)) {
        if (!stands_alone(text, at, word.size())) {
            at += word.size();
            continue;
        }
        text.insert(at + word.size(), kPlain);
        text.insert(at, colour);
        at += colour.size() + word.size() + kPlain.size();
    }
}

}  // namespace

std::string bold(std::string_view text) {
    if (!colours_allowed(1)) return std::string(text);
    return std::string(kBold) + std::string(text) + std::string(kPlain);
}

std::string with_class_colours(std::string text, const StandSettings& stands) {
    if (!colours_allowed(1)) return text;
    colour_words(text, stands.class_a, kColourA);
    colour_words(text, stands.class_b, kColourB);
    return text;
}

}  // namespace hearwood
