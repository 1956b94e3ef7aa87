// The table of contrasts on the terminal: 80 columns, numbers right-aligned.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "base/lines.h"
#include "base/missing.h"
#include "base/text.h"
#include "contrast/verdict.h"
#include "contrast/words.h"

namespace hearwood {

namespace {

constexpr int kNames = 24;  // index and window together
constexpr int kLongWindow = 9;

using Heard = std::vector<ListeningResult>;

struct Widths {
    int index, window;
    int sign = 0;  // and the space after it
};

Widths widths(std::span<const ContrastRow> rows, const Heard& heard) {
    int window = 6;
    for (const ContrastRow& row : rows)
        window = std::max(window, std::min(kLongWindow, characters(printable(row.window))));
    const int sign = heard.empty() ? 0 : 2;
    return {kNames - 1 - window - sign, window, sign};
}

/// Three significant digits in at most eight characters, so that columns of nine never touch.
std::string narrow(double value) {
    const double size = std::abs(value);
    if (size != 0 && std::isfinite(size) && (size < 1e-3 || size >= 1e6))
        return (value < 0 ? "−" : "") + fmt::format("{:.1e}", size);
    return readable_number(value);
}

/// Effect sizes in at most six characters.
std::string narrow_g(double g) {
    if (is_missing(g)) return "n/a";
    const double size = std::abs(g);
    return (g < 0 ? "−" : "") + fmt::format("{:.{}f}", size, size < 100 ? 2 : 0);
}

std::string header(const ContrastRow& any, Widths width) {
    return left("", width.sign) + left("index", width.index) + ' ' + left("window", width.window) +
           right("n", 6) + right("diff", 9) + right(percent(any.level) + " interval", 18) +
           right("g", 7) + right("p", 8) + right("adj. p", 8) + '\n';
}

std::string line(const ContrastRow& row, Widths width, const Heard& heard) {
    const std::string sign = heard.empty() ? "" : std::string(1, listening_sign(heard, row.index));
    std::string text = left(sign, width.sign) +
                       left(cut(printable(row.index), width.index), width.index) + ' ' +
                       left(cut(printable(row.window), width.window), width.window) +
                       right(fmt::format("{}+{}", row.n_a, row.n_b), 6);
    if (!row.tested()) return text + right("not tested: fewer than 2 sites in a class", 50) + '\n';
    text += right(narrow(row.difference), 9);
    text += row.unbounded() ? right("unbounded", 18)
                            : right(narrow(row.ci_low), 9) + right(narrow(row.ci_high), 9);
    return text + right(narrow_g(row.hedges_g), 7) + right(readable_p(row.p), 8) +
           right(readable_p(row.p_adjusted), 8) + '\n';
}

std::string group(std::span<const ContrastRow> rows, Role role, const std::string& title,
                  const Heard& heard) {
    const Widths width = widths(rows, heard);
    std::string text;
    for (const ContrastRow& row : rows) {
        if (row.role != role) continue;
        if (text.empty()) text = title + '\n' + header(row, width);
        text += line(row, width, heard);
    }
    return text.empty() ? text : text + '\n';
}

}  // namespace

std::string readable_table(std::span<const ContrastRow> rows, const Heard& heard) {
    if (rows.empty()) return {};
    const ContrastRow& any = rows.front();
    const auto family = std::count_if(rows.begin(), rows.end(), [](const ContrastRow& row) {
        return row.role == Role::secondary && row.tested();
    });
    const std::string pair =
        fmt::format("{} minus {}", printable(any.class_a), printable(any.class_b));
    const std::string legend = listening_legend(heard);
    return group(rows, Role::primary, "Primary outcome, " + pair, heard) +
           group(rows, Role::secondary,
                 fmt::format("Secondary outcomes, {} (adj. p: max-t over {})", pair, family),
                 heard) +
           (legend.empty() ? "" : legend + "\n\n");
}

}  // namespace hearwood
