// A text cell as every table of the program has it: RFC 4180 quoting, guarded against formulas.
#pragma once

#include <string>
#include <string_view>

namespace hearwood {

/// Text that begins with one of these gets an apostrophe in front, which base/sheet.h takes off
/// again: a spreadsheet would run it as a formula. The apostrophe itself is among them, or taking
/// one off would be ambiguous.
inline constexpr std::string_view kGuardedStarts = "=+-@\t\r'";

/// Appends the cell as it stands in a CSV file: guarded as above, quoted where it has to be.
void append_csv_text(std::string& out, std::string_view text);

}  // namespace hearwood
