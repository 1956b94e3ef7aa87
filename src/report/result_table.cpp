#include "report/result_table.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "aggregate/table_descriptions.h"
#include "base/error.h"
#include "base/missing.h"
#include "base/sheet.h"
#include "base/text.h"

namespace hearwood {

namespace {

/// Which columns are numbers: as described; of a table that nobody describes, those that hold
/// nothing else.
std::vector<bool> numeric_columns(const Sheet& sheet, const std::string& file) {
    const TableDescription described = describe_result(file, sheet.header);
    std::vector<bool> numeric(sheet.header.size());
    for (std::size_t i = 0; i < numeric.size(); ++i) {
        if (!described.fields.empty()) {
            const std::string& type = described.fields[i].type;
            numeric[i] = type == "number" || type == "integer";
            if (numeric[i]) continue;
            const TableField& field = described.fields[i];
            if (field.description != "as docs/tables.md describes it") continue;
        }
        numeric[i] = std::all_of(sheet.rows.begin(), sheet.rows.end(), [i](const SheetRow& row) {
            return row.cells[i].empty() || parse_number(row.cells[i]);
        });
    }
    return numeric;
}

Cell cell_of(const std::string& text, bool numeric) {
    if (text.empty()) return {};
    if (numeric) {
        if (const auto value = parse_number(text)) return *value;
        return text;
    }
    return text;
}

}  // namespace

int ResultTable::column(const std::string& name) const {
    const auto found = std::find(columns.begin(), columns.end(), name);
    return found == columns.end() ? -1 : static_cast<int>(found - columns.begin());
}

double ResultTable::number(const std::vector<Cell>& row, const std::string& name) const {
    const int place = column(name);
    if (place < 0) return kMissing;
    const Cell& cell = row[static_cast<std::size_t>(place)];
    if (const auto* value = std::get_if<double>(&cell)) return *value;
    if (const auto* word = std::get_if<std::string>(&cell)) {
        if (*word == "inf") return std::numeric_limits<double>::infinity();
        if (*word == "-inf") return -std::numeric_limits<double>::infinity();
    }
    return kMissing;
}

std::string ResultTable::text(const std::vector<Cell>& row, const std::string& name) const {
    const int place = column(name);
    if (place < 0) return {};
    const auto* word = std::get_if<std::string>(&row[static_cast<std::size_t>(place)]);
    return word ? *word : std::string();
}

Cell number_cell(double value) {
    if (is_missing(value)) return {};
    if (std::isinf(value)) return std::string(value > 0 ? "inf" : "-inf");
    return value;
}

std::optional<ResultTable> read_result_table(const std::filesystem::path& folder,
                                             const std::string& file) {
    if (!std::filesystem::exists(folder / file)) return std::nullopt;
    std::vector<Problem> problems;
    const Sheet sheet = read_sheet(folder / file, file, problems);
    if (any_error(problems)) throw InputError(problems);
    ResultTable table;
    table.file = file;
    table.columns = sheet.header;
    const std::vector<bool> numeric = numeric_columns(sheet, file);
    for (const SheetRow& row : sheet.rows) {
        std::vector<Cell>& cells = table.rows.emplace_back();
        for (std::size_t i = 0; i < row.cells.size(); ++i)
            cells.push_back(cell_of(row.cells[i], numeric[i]));
    }
    return table;
}

}  // namespace hearwood
