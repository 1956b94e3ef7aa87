// Numbers as sentences have them.
#pragma once

#include <string>
#include <utility>

namespace hearwood {

/// "95 %"
std::string percent(double share);
/// At most four decimals, no trailing zeros.
std::string readable_plain(double value);
/// p as "0.0286", "0.00012": never "p < 0.05". "n/a" for NaN.
std::string readable_p(double p);

/// A number of the audit or of the sheets as a sentence has it, and its unit: {"elevation", "m"},
/// {"level of the quiet minutes", "dBFS"}, {"background 1000 to 1250 Hz", ""}.
std::pair<std::string, std::string> number_in_words(const std::string& name);

}  // namespace hearwood
