#include "survey/taught_text.h"

#include <fmt/format.h>

#include <algorithm>

#include "base/text.h"

namespace hearwood {
namespace {

/// Whether a line is the heading of the section; of any section where no name is given.
bool is_heading(const std::string& line, const std::string& name = {}) {
    const std::string bare{trim(line)};
    return name.empty() ? bare.starts_with("[") : bare.starts_with("[" + name + "]");
}

/// Without the section of that name, its comments included.
std::string without_section(const std::string& text, const std::string& name) {
    std::string kept;
    bool inside = false;
    for (std::size_t at = 0; at < text.size();) {
        const std::size_t end = std::min(text.find('\n', at), text.size() - 1) + 1;
        const std::string line = text.substr(at, end - at);
        if (is_heading(line)) inside = is_heading(line, name);
        if (!inside) kept += line;
        at = end;
    }
    return kept;
}

}  // namespace

std::string with_taught_rules(const std::string& text, const std::vector<NamedTaughtRule>& rules) {
    std::string whole = text;
    for (const NamedTaughtRule& named : rules) {
        const std::string name = "taught_" + named.screen;
        whole = without_section(whole, name);
        if (!whole.ends_with('\n')) whole += '\n';
        if (!whole.ends_with("\n\n")) whole += '\n';
        whole += fmt::format("[{}]\ndate = \"{}\"\nconstant = {}\n", name, named.rule.date,
                             format_number(*named.rule.constant));
        for (std::size_t k = 0; k < kTaughtQuantities.size(); ++k)
            if (named.rule.weights[k])
                whole += fmt::format("{} = {}\n", kTaughtQuantities[k],
                                     format_number(*named.rule.weights[k]));
    }
    return whole;
}

}  // namespace hearwood
