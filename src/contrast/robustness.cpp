#include "contrast/robustness.h"

#include <fmt/core.h>

#include <algorithm>
#include <map>
#include <stdexcept>

#include "base/lines.h"
#include "base/missing.h"
#include "base/text.h"
#include "contrast/words.h"

namespace hearwood {

namespace {

void judge(SettingRow& row, const ContrastRow& declared) {
    const ContrastRow& result = row.result;
    if (!result.tested() || !declared.tested()) return;
    const auto sign = [](double value) { return (value > 0) - (value < 0); };
    row.same_sign = sign(result.difference) == sign(declared.difference);
    row.same_significance = result.significant() == declared.significant();
}

bool same_result(const ContrastRow& a, const ContrastRow& b) {
    return a.tested() == b.tested() &&
           (!a.tested() || (a.difference == b.difference && a.p == b.p));
}

/// The rows of the grid that share the levels of all factors but one.
std::map<std::vector<int>, std::vector<const SettingRow*>> by_others(const Robustness& robustness,
                                                                     std::size_t factor) {
    std::map<std::vector<int>, std::vector<const SettingRow*>> groups;
    for (const SettingRow& row : robustness.grid) {
        std::vector<int> others = row.levels;
        others[factor] = 0;
        groups[others].push_back(&row);
    }
    return groups;
}

bool changes_nothing(const Robustness& robustness, std::size_t factor) {
    for (const auto& [others, rows] : by_others(robustness, factor))
        for (const SettingRow* row : rows)
            if (!same_result(row->result, rows.front()->result)) return false;
    return true;
}

void remove_factor(Robustness& robustness, std::size_t factor) {
    std::erase_if(robustness.grid, [&](const SettingRow& row) { return row.levels[factor] != 0; });
    const auto place = static_cast<std::ptrdiff_t>(factor);
    for (SettingRow& row : robustness.grid) row.levels.erase(row.levels.begin() + place);
    for (WithoutSite& without : robustness.without)
        without.row.levels.erase(without.row.levels.begin() + place);
    robustness.factors.erase(robustness.factors.begin() + place);
}

/// The factor in which a row differs from the declared setting; nothing when it is several or none.
int only_change(const SettingRow& row) {
    int changed = -1;
    for (std::size_t f = 0; f < row.levels.size(); ++f) {
        if (row.levels[f] == 0) continue;
        if (changed >= 0) return -1;
        changed = static_cast<int>(f);
    }
    return changed;
}

std::string meaning_of(const std::string& factor) {
    for (const FactorMeaning& known : kFactorMeanings)
        if (factor == known.name) return known.meaning;
    throw std::logic_error("the factor '" + factor + "' has no meaning in kFactorMeanings");
}

TableOf<RobustnessRow> with_result(TableOf<RobustnessRow> table) {
    const auto of = [](auto ContrastRow::*member) {
        return [member](const RobustnessRow& row) { return row.setting->result.*member; };
    };
    const auto said = [](bool SettingRow::*member) {
        return [member](const RobustnessRow& row) -> std::optional<int> {
            if (!row.setting->result.tested()) return std::nullopt;
            return row.setting->*member ? 1 : 0;
        };
    };
    return table.column("n_a", "1", "sites of class A that took part", of(&ContrastRow::n_a))
        .column("n_b", "1", "sites of class B that took part", of(&ContrastRow::n_b))
        .column("difference", "", "A minus B, adjusted for blocks", of(&ContrastRow::difference))
        .column("ci_low", "", "lower end of the confidence interval; -INF when unbounded",
                of(&ContrastRow::ci_low))
        .column("ci_high", "", "upper end of the confidence interval; INF when unbounded",
                of(&ContrastRow::ci_high))
        .column("hedges_g", "1",
                "Hedges' g: difference in pooled standard deviations within classes, corrected for "
                "small samples",
                of(&ContrastRow::hedges_g))
        .column("p", "1", "two-sided p of the permutation test", of(&ContrastRow::p))
        .column("same_sign", "1", "1: the difference has the sign of the declared setting",
                said(&SettingRow::same_sign))
        .column("same_significance", "1",
                "1: a difference is shown, or not, as under the declared setting",
                said(&SettingRow::same_significance));
}

}  // namespace

std::vector<std::string> judge_settings(Robustness& robustness) {
    std::vector<std::string> idle;
    for (std::size_t f = robustness.factors.size(); f-- > 0;) {
        if (!changes_nothing(robustness, f)) continue;
        idle.insert(idle.begin(), robustness.factors[f].name);
        remove_factor(robustness, f);
    }
    const ContrastRow declared = robustness.grid.front().result;
    for (SettingRow& row : robustness.grid) judge(row, declared);
    for (WithoutSite& without : robustness.without) judge(without.row, declared);
    return idle;
}

Agreement agreement(const Robustness& robustness) {
    Agreement result;
    for (const SettingRow& row : robustness.grid) {
        result.tested += row.result.tested();
        result.same_sign += row.same_sign;
        result.same_both += row.same_sign && row.same_significance;
        result.decidable += row.result.tested() && !row.result.unbounded();
    }
    return result;
}

std::vector<double> influence(const Robustness& robustness) {
    std::vector<double> influences;
    for (std::size_t f = 0; f < robustness.factors.size(); ++f) {
        double sum = 0;
        int groups = 0;
        for (const auto& [others, rows] : by_others(robustness, f)) {
            double least = std::numeric_limits<double>::infinity(), most = -least;
            for (const SettingRow* row : rows) {
                const double g = row->result.hedges_g;
                if (is_missing(g)) continue;
                least = std::min(least, g);
                most = std::max(most, g);
            }
            if (!(most >= least)) continue;
            sum += most - least;
            ++groups;
        }
        influences.push_back(groups > 0 ? sum / groups : kMissing);
    }
    return influences;
}

std::string agreement_in_words(const Robustness& robustness) {
    const Agreement shares = agreement(robustness);
    std::string text = fmt::format("{} of {} settings agree with the declared one in sign",
                                   shares.same_sign, shares.tested);
    const ContrastRow& declared = robustness.grid.front().result;
    if (shares.decidable == 0)
        return text + fmt::format(
                          "; none could show a difference with so few sites (least "
                          "attainable p {})",
                          readable_p(declared.p_min));
    return text + fmt::format(", {} in sign and in showing {}", shares.same_both,
                              declared.significant() ? "a difference" : "none");
}

std::string robustness_in_words(const Robustness& robustness) {
    if (agreement(robustness).tested == 0)
        return "No setting could be tested: fewer than 2 sites in a class.";
    std::string text = agreement_in_words(robustness) + ".";
    const std::vector<double> influences = influence(robustness);
    double most = 0;
    std::string name;
    for (std::size_t f = 0; f < influences.size(); ++f) {
        if (!(influences[f] > most)) continue;
        most = influences[f];
        name = robustness.factors[f].name;
    }
    if (!name.empty())
        text += fmt::format(" What matters most is the {}: it moves Hedges' g by {} on average.",
                            name, readable_number(most));
    std::vector<std::string> turning;
    for (const WithoutSite& without : robustness.without)
        if (!without.row.same_sign || !without.row.same_significance)
            turning.push_back(without.site);
    if (turning.empty())
        text += " No single site decides the result.";
    else
        text += fmt::format(" Without {} the result is another{}.", join(turning, ", or without "),
                            turning.size() > 1 ? " each time" : "");
    return text;
}

TableOf<RobustnessRow> robustness_table() {
    TableOf<RobustnessRow> table(
        "robustness.csv", "robustness",
        "The primary contrast as declared, with one choice changed at a time, and without each "
        "site in turn.");
    table.column("choice", "", "what was changed", &RobustnessRow::choice)
        .column("variant", "", "to what it was changed; the site that was left out",
                &RobustnessRow::variant);
    return with_result(std::move(table));
}

std::vector<RobustnessRow> robustness_rows(const Robustness& robustness) {
    std::vector<RobustnessRow> rows{{"as declared", "", &robustness.grid.front()}};
    for (std::size_t f = 0; f < robustness.factors.size(); ++f)
        for (const SettingRow& row : robustness.grid)
            if (only_change(row) == static_cast<int>(f))
                rows.push_back({robustness.factors[f].name,
                                robustness.factors[f].levels[row.levels[f]], &row});
    for (const WithoutSite& without : robustness.without)
        rows.push_back({without.decision ? "without a decision" : "without a site", without.site,
                        &without.row});
    return rows;
}

TableOf<RobustnessRow> robustness_grid_table(std::span<const Factor> factors) {
    TableOf<RobustnessRow> table(
        "robustness_grid.csv", "robustness, all settings",
        "A row is one combination of settings under which the primary contrast was recomputed.");
    for (std::size_t f = 0; f < factors.size(); ++f) {
        std::string name = factors[f].name;
        std::replace(name.begin(), name.end(), ' ', '_');
        table.column(name, "", meaning_of(factors[f].name),
                     [levels = factors[f].levels, f](const RobustnessRow& row) {
                         return levels[row.setting->levels[f]];
                     });
    }
    return with_result(std::move(table));
}

std::string robustness_csv(const Robustness& robustness) {
    return csv_of(robustness_table(), robustness_rows(robustness));
}

std::string robustness_grid_csv(const Robustness& robustness) {
    std::vector<RobustnessRow> rows;
    for (const SettingRow& row : robustness.grid) rows.push_back({"", "", &row});
    return csv_of(robustness_grid_table(robustness.factors), rows);
}

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
