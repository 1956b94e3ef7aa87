// Reading a table that somebody kept in a spreadsheet: what separates the fields, how decimals are
// written and where lines end is found out; what cannot be understood is refused with its place and
// the fix.
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.h"

namespace hearwood {

struct SheetRow {
    std::size_t line = 0;            ///< where the row begins, counted from 1
    std::vector<std::string> cells;  ///< parallel to Sheet::header; trimmed, valid UTF-8
};

/// A sheet with a header. Accepted: UTF-8 with or without byte-order mark; LF, CRLF or CR; comma,
/// semicolon or tab between fields (or a first line "sep=;"); quoted fields, newlines inside too;
/// blank lines; empty columns at the end; rows shorter than the header.
struct Sheet {
    std::string file;  ///< as the user knows it, for messages
    char delimiter = ',';
    bool comma_decimals = false;  ///< a cell of this sheet has an undoubted decimal comma ("0,5")
    bool point_decimals = false;  ///< a cell of this sheet has an undoubted decimal point ("0.5")
    bool broken = false;          ///< reading stopped early: rows may be missing
    std::size_t header_line = 0;
    std::vector<std::string> header;
    std::vector<SheetRow> rows;

    /// Position of a column by its exact name.
    std::optional<std::size_t> column(std::string_view name) const;
};

/// Bounds that no honest sheet meets.
inline constexpr std::uint64_t kSheetBytes = 256u << 20;
inline constexpr std::size_t kSheetColumns = 4096;
inline constexpr std::size_t kSheetFieldBytes = 64u << 10;

/// Reads a sheet. Everything wrong with it is added to `problems`; what could be read is returned.
/// A file that cannot be opened is one such problem.
Sheet read_sheet(const std::filesystem::path& path, const std::string& shown_as,
                 std::vector<Problem>& problems);
/// The same from memory.
Sheet parse_sheet(std::string_view bytes, const std::string& shown_as,
                  std::vector<Problem>& problems);

/// Fills comma_decimals and point_decimals from the cells; parse_sheet has done so.
void find_decimal_mark(Sheet& sheet);

/// A cell as a number; "NA" counts as empty. In a sheet separated by semicolons or tabs a decimal
/// comma is understood. A text that is a thousand in one country and a fraction in another ("1.234"
/// in a sheet that elsewhere has "0,5") is ambiguous, and so is any comma inside a number of a
/// comma-separated sheet.
struct SheetNumber {
    enum class State { empty, number, ambiguous, not_a_number };
    State state = State::empty;
    double value = 0;
};
SheetNumber sheet_number(const Sheet& sheet, std::string_view cell);

/// The cell's number; nothing when empty. What is neither is added to the problems (at line and
/// column).
std::optional<double> number_or_problem(const Sheet& sheet, const SheetRow& row, std::size_t column,
                                        std::vector<Problem>& problems);

/// A problem at a cell of the sheet, with its field name and value filled in.
Problem sheet_problem(const Sheet& sheet, const SheetRow& row, std::size_t column, std::string what,
                      std::string fix);

}  // namespace hearwood
