#include "base/csv_cell.h"

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

}  // namespace hearwood
