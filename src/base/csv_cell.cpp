#include "base/csv_cell.h"

#include <fmt/format.h>

#include <cmath>

#include "base/text.h"

namespace hearwood {

void append_csv_text(std::string& out, std::string_view text) {
    const bool quotes = text.find_first_of(",\"\n\r") != std::string_view::npos;
    if (quotes) out += '"';
    const bool guarded =
        !text.empty() && kGuardedStarts.find(text.front()) != std::string_view::npos;
    if (guarded) out += '\'';
    if (!quotes) {
        out += text;
        return;
    }
    for (const char c : text) out.append(c == '"' ? 2 : 1, c);
    out += '"';
}

void append_csv_number(std::string& out, double value) {
    if (std::isinf(value))
        out += value > 0 ? "INF" : "-INF";
    else
        out += format_number(value);
}

void append_csv_cell(std::string& out, const TableCell& cell) {
    if (const auto* text = std::get_if<std::string>(&cell)) {
        append_csv_text(out, *text);
    } else if (const auto* number = std::get_if<double>(&cell)) {
        append_csv_number(out, *number);
    } else if (const auto* whole = std::get_if<std::int64_t>(&cell)) {
        const fmt::format_int digits(*whole);
        out.append(digits.data(), digits.size());
    }
}

std::string csv_line(std::span<const TableCell> cells) {
    std::string line;
    for (std::size_t i = 0; i < cells.size(); ++i) {
        if (i > 0) line += ',';
        append_csv_cell(line, cells[i]);
    }
    return line + '\n';
}

std::string csv_line(const std::vector<std::string>& cells) {
    return csv_line(std::vector<TableCell>(cells.begin(), cells.end()));
}

}  // namespace hearwood
