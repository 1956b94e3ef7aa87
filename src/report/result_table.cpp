#include "report/result_table.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/error.h"
#include "base/missing.h"
#include "base/sheet.h"
#include "base/text.h"

namespace hearwood {

namespace {

std::vector<bool> numeric_columns(const Sheet& sheet, const TableDescription& description) {
    std::vector<bool> numeric;
    for (const std::string& name : sheet.header) {
        const auto field =
            std::find_if(description.fields.begin(), description.fields.end(),
                         [&](const TableField& known) { return known.name == name; });
        numeric.push_back(field != description.fields.end() &&
                          (field->type == "number" || field->type == "integer"));
    }
    return numeric;
}

Cell cell_of(const std::string& text, bool numeric) {
    if (text.empty()) return {};
    if (numeric) {
        if (const auto value = parse_number(text)) return *value;
        return to_lower_ascii(text);  // "INF", "-INF"
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
                                             const TableDescription& description) {
    const std::string& file = description.path;
    if (!std::filesystem::exists(folder / file)) return std::nullopt;
    std::vector<Problem> problems;
    const Sheet sheet = read_sheet(folder / file, file, problems);
    if (any_error(problems)) throw InputError(problems);
    ResultTable table;
    table.file = file;
    table.columns = sheet.header;
    const std::vector<bool> numeric = numeric_columns(sheet, description);
    for (const SheetRow& row : sheet.rows) {
        std::vector<Cell>& cells = table.rows.emplace_back();
        for (std::size_t i = 0; i < row.cells.size(); ++i)
            cells.push_back(cell_of(row.cells[i], numeric[i]));
    }
    return table;
}

}  // namespace hearwood
