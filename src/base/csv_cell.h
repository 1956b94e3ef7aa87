// A text cell as every table of the program has it: RFC 4180 quoting, guarded against formulas.
#pragma once

#include <string>
#include <string_view>

namespace hearwood {

/// Appends the cell as it stands in a CSV file. Text that a spreadsheet would run as a formula (it
/// begins with = + - @ TAB or CR) gets an apostrophe in front; so does text that begins with an
/// apostrophe, so that a reader can take one off again. Quoted where it has to be.
void append_csv_text(std::string& out, std::string_view text);

}  // namespace hearwood
