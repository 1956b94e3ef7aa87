// Cells as every table of the program has them: RFC 4180 quoting, text guarded against formulas,
// numbers as the Table Schema has them.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

namespace hearwood {

/// Missing, a whole number, a number (infinite ones too, never NaN), or a text.
using TableCell = std::variant<std::monostate, std::int64_t, double, std::string>;

/// Text that begins with one of these gets an apostrophe in front, which base/sheet.h takes off
/// again: a spreadsheet would run it as a formula. The apostrophe itself is among them, or taking
/// one off would be ambiguous.
inline constexpr std::string_view kGuardedStarts = "=+-@\t\r'";

/// Appends the text as it stands in a CSV file: guarded as above, quoted where it has to be.
void append_csv_text(std::string& out, std::string_view text);
/// The shortest text that reads back the same; INF and -INF, as the Table Schema writes them;
/// nothing for NaN.
void append_csv_number(std::string& out, double value);
void append_csv_cell(std::string& out, const TableCell& cell);

/// A line with its LF.
std::string csv_line(std::span<const TableCell> cells);
std::string csv_line(const std::vector<std::string>& cells);

}  // namespace hearwood
