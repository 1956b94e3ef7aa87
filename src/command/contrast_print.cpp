#include <fmt/core.h>

#include <algorithm>
#include <limits>

#include "base/lines.h"
#include "base/missing.h"
#include "base/text.h"
#include "command/contrast_modes.h"
#include "command/print.h"
#include "contrast/verdict.h"
#include "contrast/words.h"

namespace hearwood {

namespace {

// A survey with many bands has hundreds of rows; files hold them all.
constexpr std::size_t kPairsShown = 12;
constexpr std::size_t kSecondaryShown = 10, kNoLimit = std::numeric_limits<std::size_t>::max();

void print_classes(std::span<const ClassesRow> rows) {
    fmt::print("All classes together (exact permutation F, adj. p: max-F over {})\n{}{}{}{}{}\n",
               rows.size(), left("index window", 34), right("sites", 6), right("F", 10),
               right("p", 10), right("adj. p", 10));
    for (const ClassesRow& row : rows)
        fmt::print(
            "{}{}{}{}{}{}\n", left(cut(printable(row.index + " " + row.window), 33), 34),
            right(std::to_string(row.sites), 6),
            right(!is_missing(row.f) ? readable_number(row.f) : "n/a", 10),
            right(readable_p(row.p), 10), right(readable_p(row.p_adjusted), 10),
            row.single.empty() ? "" : "\n    not in it: " + printable(join(row.single, ", ")));
    fmt::print("\n");
}

}  // namespace

void print_primary(std::span<const ContrastRow> rows, const std::vector<ListeningResult>& heard) {
    fmt::print("{}", primary_table(rows, heard));
    for (const ContrastRow& row : rows)
        if (row.tested() && (row.role == Role::primary || rows.size() == 1)) {
            print_wrapped(printable(effect_in_words(row)));
            fmt::print("\n");
        }
}

void print_secondary(std::span<const ContrastRow> rows, bool all,
                     const std::vector<ListeningResult>& heard) {
    fmt::print("{}", secondary_table(rows, heard, all ? kNoLimit : kSecondaryShown));
}

void print_more_classes(std::span<const ContrastRow> pairs, std::span<const ClassesRow> together) {
    fmt::print("Every other pair of classes (adjusted within each pair)\n");
    std::size_t shown = 0;
    for (const ContrastRow& row : pairs) {
        if (!row.significant() && pairs.size() > kPairsShown) continue;
        print_wrapped("  " + printable(row.verdict), 4);
        ++shown;
    }
    if (shown < pairs.size())
        fmt::print("  {} in nothing once adjusted, or could not be tested\n",
                   counted(pairs.size() - shown, "further pair differs", "further pairs differ"));
    fmt::print("\n");
    print_classes(together);
}

}  // namespace hearwood
