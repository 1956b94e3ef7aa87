#include "audio/metadata.h"

#include "base/text.h"

namespace hearwood {

std::optional<std::string> guano_value(std::string_view guano, std::string_view key) {
    const std::string wanted = to_lower_ascii(key);
    while (!guano.empty()) {
        const std::size_t end = guano.find('\n');
        const std::string_view line = guano.substr(0, end);
        guano.remove_prefix(end == std::string_view::npos ? guano.size() : end + 1);
        const std::size_t colon = line.find(':');
        if (colon == std::string_view::npos) continue;
        if (to_lower_ascii(trim(line.substr(0, colon))) != wanted) continue;
        std::string value = trim(line.substr(colon + 1));
        while (!value.empty() && value.back() == '\0') value.pop_back();
        return value;
    }
    return std::nullopt;
}

std::string recorder_serial(const Metadata& metadata) {
    if (const auto serial = guano_value(metadata.guano, "Serial"); serial && !serial->empty())
        return *serial;
    if (metadata.bext) return trim(metadata.bext->originator_reference);
    return {};
}

}  // namespace hearwood
