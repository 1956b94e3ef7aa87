#include "contrast/words.h"

#include <fmt/core.h>

#include <cmath>

#include "base/missing.h"
#include "base/text.h"
#include "survey/columns.h"

namespace hearwood {

std::string percent(double share) {
    return readable_plain(100 * share) + " %";
}

std::string readable_plain(double value) {
    // Adding 0 makes a rounded -0 a plain 0.
    return fmt::format("{:.6g}", std::round(value * 1e4) / 1e4 + 0.0);
}

std::string readable_p(double p) {
    if (is_missing(p)) return "n/a";
    if (p >= 0.001) return readable_number(p);
    return fmt::format("{:.5f}", p);
}

std::pair<std::string, std::string> number_in_words(const std::string& name) {
    if (name == "l90_dbfs") return {"level of the quiet minutes", "dBFS"};
    return column_in_words(name);
}

}  // namespace hearwood
