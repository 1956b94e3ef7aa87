#include <fmt/core.h>

#include "base/lines.h"
#include "base/text.h"
#include "contrast/robustness.h"
#include "contrast/words.h"

namespace hearwood {

namespace {

std::string row_text(const std::string& name, const SettingRow& row) {
    const ContrastRow& r = row.result;
    if (!r.tested())
        return left(cut(name, 29), 29) + " not tested: fewer than 2 sites in a class\n";
    return fmt::format(
        "{}{}{}{}{}\n", left(cut(name, 38), 38), right(readable_number(r.difference), 9),
        r.unbounded() ? right("unbounded", 18)
                      : right(readable_number(r.ci_low), 9) + right(readable_number(r.ci_high), 9),
        right(readable_p(r.p), 8), row.same_sign ? "" : "  other");
}

}  // namespace

std::string settings_text(const Robustness& robustness) {
    std::string text =
        fmt::format("{}, {}\n{}{}{}{}\n", printable(robustness.index), printable(robustness.window),
                    left("setting", 38), right("diff", 9),
                    right(percent(robustness.grid.front().result.level) + " interval", 18),
                    right("p", 8) + "  sign");
    text += row_text("as declared", robustness.grid.front());
    for (std::size_t f = 0; f < robustness.factors.size(); ++f) {
        for (const SettingRow& row : robustness.grid) {
            bool only = row.levels[f] != 0;
            for (std::size_t other = 0; other < row.levels.size(); ++other)
                only = only && (other == f || row.levels[other] == 0);
            if (only)
                text += row_text(
                    robustness.factors[f].name + ": " + robustness.factors[f].levels[row.levels[f]],
                    row);
        }
    }
    for (const WithoutSite& without : robustness.without)
        text += row_text(
            (without.decision ? "without decision " : "without ") + printable(without.site),
            without.row);
    return text + "\n";
}

}  // namespace hearwood
