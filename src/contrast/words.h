// Small pieces of text for sentences and terminal tables. Internal to this folder and to commands.
#pragma once

#include <string>
#include <string_view>

#include "base/lines.h"

namespace hearwood {

/// "95 %"
std::string percent(double share);
/// At most four decimals, no trailing zeros.
std::string readable_plain(double value);
/// p as "0.0286", "0.00012": never "p < 0.05". "n/a" for NaN.
std::string readable_p(double p);

/// Padded to a width in characters, not bytes; longer text is kept whole.
std::string right(std::string_view text, int width);
std::string left(std::string_view text, int width);
/// Cut to a width with an ellipsis.
std::string cut(std::string_view text, int width);

}  // namespace hearwood
