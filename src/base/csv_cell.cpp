#include "base/csv_cell.h"

namespace hearwood {
namespace {

/// What a spreadsheet may take for a formula; and the guard itself, so that taking it off is
/// unambiguous.
bool needs_guard(std::string_view text) {
    return !text.empty() &&
           std::string_view("=+-@\t\r'").find(text.front()) != std::string_view::npos;
}

}  // namespace

void append_csv_text(std::string& out, std::string_view text) {
    const bool quotes = text.find_first_of(",\"\n\r") != std::string_view::npos;
    if (quotes) out += '"';
    if (needs_guard(text)) out += '\'';
    if (!quotes) {
        out += text;
        return;
    }
    for (const char c : text) out.append(c == '"' ? 2 : 1, c);
    out += '"';
}

}  // namespace hearwood
