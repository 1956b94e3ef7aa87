// The table of contrasts on the terminal: 80 columns, numbers right-aligned.
#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>

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

using Shown = std::vector<const ContrastRow*>;

std::string group(const Shown& rows, const Widths& width, const std::string& title,
                  const Heard& heard) {
    std::string text;
    for (const ContrastRow* row : rows) {
        if (text.empty()) text = title + '\n' + header(*row, width);
        text += line(*row, width, heard);
    }
    return text.empty() ? text : text + '\n';
}

Shown of_role(std::span<const ContrastRow> rows, Role role) {
    Shown shown;
    for (const ContrastRow& row : rows)
        if (row.role == role) shown.push_back(&row);
    return shown;
}

std::string pair_of(std::span<const ContrastRow> rows) {
    return fmt::format("{} minus {}", printable(rows.front().class_a),
                       printable(rows.front().class_b));
}

/// The `most` with the largest differences in deviations of sites, the largest first; how many were
/// left out. With no limit all stay, in their order.
std::size_t keep_largest(Shown& rows, std::size_t most) {
    if (most == std::numeric_limits<std::size_t>::max()) return 0;
    const auto size = [](const ContrastRow* row) {
        return is_missing(row->hedges_g) ? -1 : std::abs(row->hedges_g);
    };
    std::stable_sort(rows.begin(), rows.end(),
                     [&](const ContrastRow* x, const ContrastRow* y) { return size(x) > size(y); });
    if (rows.size() <= most) return 0;
    const std::size_t left_out = rows.size() - most;
    rows.resize(most);
    return left_out;
}

}  // namespace

std::string primary_table(std::span<const ContrastRow> rows, const Heard& heard) {
    if (rows.empty()) return {};
    return group(of_role(rows, Role::primary), widths(rows, heard),
                 "Primary outcome, " + pair_of(rows), heard);
}

std::string secondary_table(std::span<const ContrastRow> rows, const Heard& heard,
                            std::size_t most) {
    Shown secondary = of_role(rows, Role::secondary);
    if (secondary.empty()) return {};
    int family = 0;
    for (const ContrastRow* row : secondary) family = std::max(family, row->family);
    const std::size_t left_out = keep_largest(secondary, most);
    const char* title = secondary.size() + left_out < rows.size()
                            ? "Secondary outcomes"
                            : "Outcomes (no primary one declared)";
    std::string text =
        group(secondary, widths(rows, heard),
              fmt::format("{}, {} (adj. p: max-t over {})", title, pair_of(rows), family), heard);
    if (left_out > 0)
        text +=
            wrapped(fmt::format("{} of smaller size: --all shows them.",
                                counted(left_out, "further outcome is", "further outcomes are"))) +
            '\n';
    const std::string legend = listening_legend(heard);
    return text + (legend.empty() ? "" : legend + "\n\n");
}

}  // namespace hearwood
