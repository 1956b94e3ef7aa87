#include "contrast/robustness.h"

#include <fmt/core.h>

#include <algorithm>
#include <map>

#include "base/missing.h"
#include "base/text.h"
#include "contrast/csv.h"

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

void add_result(CsvLine& line, const SettingRow& row) {
    const ContrastRow& r = row.result;
    line.count(r.n_a).count(r.n_b);
    for (const double number : {r.difference, r.ci_low, r.ci_high, r.hedges_g, r.p})
        line.number(number);
    if (r.tested())
        line.count(row.same_sign).count(row.same_significance);
    else
        line.empty().empty();
}

constexpr const char* kResultColumns =
    "n_a,n_b,difference,ci_low,ci_high,hedges_g,p,same_sign,same_significance\n";

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

std::string robustness_in_words(const Robustness& robustness) {
    const Agreement shares = agreement(robustness);
    if (shares.tested == 0) return "No setting could be tested: fewer than 2 sites in a class.";
    const bool shown = robustness.grid.front().result.significant();
    std::string text = fmt::format(
        "{} of {} settings agree with the declared one in sign, {} in sign and in showing {}.",
        shares.same_sign, shares.tested, shares.same_both, shown ? "a difference" : "none");
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

std::string robustness_csv(const Robustness& robustness) {
    std::string bytes = std::string("choice,variant,") + kResultColumns;
    CsvLine line;
    const auto add = [&](const std::string& choice, const std::string& variant,
                         const SettingRow& row) {
        line.text(choice).text(variant);
        add_result(line, row);
        bytes += line.take();
    };
    add("as declared", "", robustness.grid.front());
    for (std::size_t f = 0; f < robustness.factors.size(); ++f)
        for (const SettingRow& row : robustness.grid)
            if (only_change(row) == static_cast<int>(f))
                add(robustness.factors[f].name, robustness.factors[f].levels[row.levels[f]], row);
    for (const WithoutSite& without : robustness.without)
        add("without a site", without.site, without.row);
    return bytes;
}

std::string robustness_grid_csv(const Robustness& robustness) {
    CsvLine line;
    for (const Factor& factor : robustness.factors) {
        std::string name = factor.name;
        std::replace(name.begin(), name.end(), ' ', '_');
        line.text(name);
    }
    std::string bytes = line.take();
    bytes.back() = ',';
    if (robustness.factors.empty()) bytes.clear();
    bytes += kResultColumns;
    for (const SettingRow& row : robustness.grid) {
        for (std::size_t f = 0; f < robustness.factors.size(); ++f)
            line.text(robustness.factors[f].levels[row.levels[f]]);
        add_result(line, row);
        bytes += line.take();
    }
    return bytes;
}

}  // namespace hearwood
