// A table of hearwood/tables/ as the page shows it: read back from the CSV file, so that the page
// and the file cannot differ.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "base/table.h"

namespace hearwood {

/// Missing, a number, or a text. An infinite number is the text "inf" or "-inf".
using Cell = std::variant<std::monostate, double, std::string>;

struct ResultTable {
    std::string file;  ///< name in hearwood/tables; empty: worked out for the page
    std::vector<std::string> columns;
    std::vector<std::vector<Cell>> rows;

    int column(const std::string& name) const;
    /// NaN where the cell is missing or no number; plus and minus infinity as such.
    double number(const std::vector<Cell>& row, const std::string& name) const;
    /// Empty where the cell is missing or no text.
    std::string text(const std::vector<Cell>& row, const std::string& name) const;
};

/// NaN becomes missing.
Cell number_cell(double value);

/// Nothing when there is no such file. Columns that `description` has as numbers are
/// numbers. Errors: InputError when the file is no table.
std::optional<ResultTable> read_result_table(const std::filesystem::path& folder,
                                             const TableDescription& description);

}  // namespace hearwood
