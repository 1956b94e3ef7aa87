#include "audio/recorder_mark.h"

#include <algorithm>
#include <cctype>
#include <map>

namespace hearwood {

std::string bare_mark(const std::string& mark) {
    std::string text;
    for (const char c : mark)
        if (std::isalnum(static_cast<unsigned char>(c)))
            text += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    return text;
}

bool identifies(const std::string& prefix) {
    return std::any_of(prefix.begin(), prefix.end(),
                       [](unsigned char c) { return std::isdigit(c) != 0; });
}

std::string identifying_prefix(std::span<const std::string> prefixes) {
    std::map<std::string, std::size_t> counts;
    for (const std::string& prefix : prefixes) ++counts[prefix];
    for (const auto& [prefix, count] : counts)
        if (2 * count > prefixes.size() && identifies(prefix)) return prefix;
    return {};
}

}  // namespace hearwood
