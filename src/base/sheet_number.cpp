// Which mark a sheet's decimals have, and cells as numbers.
#include <algorithm>

#include "base/sheet.h"
#include "base/text.h"

namespace hearwood {

namespace {

/// A whole cell of the form digits, one mark, digits.
struct Marked {
    bool comma = false, point = false;
    bool doubtful = false;  ///< "1,234": might be a thousand and some
};

Marked marked(std::string_view cell) {
    if (!cell.empty() && (cell[0] == '-' || cell[0] == '+')) cell.remove_prefix(1);
    const std::size_t mark = cell.find_first_of(",.");
    if (mark == std::string_view::npos) return {};
    const std::string_view whole = cell.substr(0, mark), part = cell.substr(mark + 1);
    const auto digits = [](std::string_view text) {
        return std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
    };
    if (!digits(whole) || !digits(part) || (whole.empty() && part.empty())) return {};
    Marked found;
    (cell[mark] == ',' ? found.comma : found.point) = true;
    found.doubtful = part.size() == 3 && !whole.empty() && whole.size() <= 3 && whole[0] != '0';
    return found;
}

}  // namespace

void find_decimal_mark(Sheet& sheet) {
    if (sheet.delimiter == ',') return;
    bool doubtful_comma = false, doubtful_point = false;
    for (const SheetRow& row : sheet.rows)
        for (const std::string& cell : row.cells) {
            const Marked found = marked(cell);
            if (found.comma) (found.doubtful ? doubtful_comma : sheet.comma_decimals) = true;
            if (found.point) (found.doubtful ? doubtful_point : sheet.point_decimals) = true;
        }
    // "1,234" beside "1.234" and nothing else to go by: one of them is a thousand, and nobody knows
    // which.
    if (doubtful_comma && doubtful_point && !sheet.comma_decimals && !sheet.point_decimals)
        sheet.comma_decimals = sheet.point_decimals = true;
}

SheetNumber sheet_number(const Sheet& sheet, std::string_view cell) {
    std::string text = trim(cell);
    if (text.empty() || text == "NA") return {};
    if (text.starts_with("\u2212")) {  // the true minus sign, three bytes
        text.erase(0, 2);
        text[0] = '-';
    }
    const Marked found = marked(text);
    const bool comma = text.find(',') != std::string::npos;
    if (comma && sheet.delimiter == ',') {
        std::erase(text, ',');
        return {parse_number(text) ? SheetNumber::State::ambiguous
                                   : SheetNumber::State::not_a_number};
    }
    if (found.doubtful &&
        ((found.comma && sheet.point_decimals) || (found.point && sheet.comma_decimals)))
        return {SheetNumber::State::ambiguous};
    if (comma && text.find('.') != std::string::npos) {
        std::erase(text, ',');
        std::erase(text, '.');
        return {parse_number(text) ? SheetNumber::State::ambiguous
                                   : SheetNumber::State::not_a_number};
    }
    if (comma) text[text.find(',')] = '.';
    const auto value = parse_number(text);
    if (!value) return {SheetNumber::State::not_a_number};
    return {SheetNumber::State::number, *value};
}

std::optional<double> number_or_problem(const Sheet& sheet, const SheetRow& row, std::size_t column,
                                        std::vector<Problem>& problems) {
    const SheetNumber number = sheet_number(sheet, row.cells.at(column));
    switch (number.state) {
        case SheetNumber::State::empty:
            return {};
        case SheetNumber::State::number:
            return number.value;
        case SheetNumber::State::ambiguous:
            problems.push_back(sheet_problem(
                sheet, row, column, "this may be a decimal mark or a thousands mark",
                "write a decimal point, no thousands mark, and the same in the whole sheet"));
            return {};
        case SheetNumber::State::not_a_number:
            problems.push_back(sheet_problem(
                sheet, row, column, "not a number",
                "write the number alone, without a unit; leave it empty when unknown"));
            return {};
    }
    return {};
}

}  // namespace hearwood
