#include "command/number_option.h"

#include <fmt/format.h>

#include "base/text.h"

namespace hearwood {

CLI::Validator number_between(double least, double most) {
    const auto check = [=](const std::string& text) {
        const auto value = parse_number(text);
        const bool inside = value && *value >= least && *value <= most;
        return inside ? std::string()
                      : fmt::format("{} is not a number from {} to {}", printable(text),
                                    readable_number(least), readable_number(most));
    };
    return {check, fmt::format("FLOAT in [{} - {}]", format_number(least), format_number(most))};
}

}  // namespace hearwood
