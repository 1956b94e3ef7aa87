// Numbers as sentences have them.
#pragma once

#include <string>

namespace hearwood {

/// "95 %"
std::string percent(double share);
/// At most four decimals, no trailing zeros.
std::string readable_plain(double value);
/// p as "0.0286", "0.00012": never "p < 0.05". "n/a" for NaN.
std::string readable_p(double p);

}  // namespace hearwood
