#include "contrast/seasons.h"

#include <fmt/core.h>

#include <map>
#include <utility>

#include "base/text.h"
#include "contrast/words.h"

namespace hearwood {

namespace {

using IndexAndWindow = std::pair<std::string, std::string>;  ///< index and window

/// By outcome and season, the values of its sites.
using BySeason = std::map<IndexAndWindow, std::map<std::string, std::vector<Unit>>>;

std::vector<Unit> changes(const std::vector<Unit>& before, const std::vector<Unit>& after) {
    std::map<std::string, double> first;
    for (const Unit& unit : before) first[unit.site] = unit.value;
    std::vector<Unit> result;
    for (Unit unit : after) {
        const auto place = first.find(unit.site);
        unit.value -= place == first.end() ? kMissing : place->second;
        result.push_back(std::move(unit));
    }
    return result;
}

std::string in_words(const SeasonRow& row) {
    const ContrastRow& change = row.change;
    const std::string name = row.index + ", " + row.window + ": ";
    if (!change.tested())
        return name + fmt::format(
                          "fewer than 2 sites of a class were recorded in both {} and {}, so "
                          "that no change of the difference is told.",
                          row.season_1, row.season_2);
    std::string text =
        name + fmt::format("{} minus {} was {} in {} and {} in {}; ", change.class_a,
                           change.class_b, readable_number(row.difference_1), row.season_1,
                           readable_number(row.difference_2), row.season_2);
    if (change.unbounded())
        return text + fmt::format("with {} and {} sites in both no change of it can be shown.",
                                  change.n_a, change.n_b);
    return text + fmt::format(
                      "over the {} and {} sites recorded in both {} by {} ({} interval {} to {}, p "
                      "= {}).",
                      change.n_a, change.n_b,
                      change.significant() ? "it changed" : "no change is shown: it changed",
                      readable_number(change.difference), percent(change.level),
                      readable_number(change.ci_low), readable_number(change.ci_high),
                      readable_p(change.p));
}

}  // namespace

std::vector<SeasonRow> season_table(std::span<const SeasonValue> values,
                                    std::span<const std::string> seasons,
                                    const ContrastPlan& plan) {
    BySeason by_season;
    std::vector<IndexAndWindow> order;
    for (const SeasonValue& value : values) {
        const IndexAndWindow outcome(value.value.index, value.value.window);
        if (!by_season.contains(outcome)) order.push_back(outcome);
        by_season[outcome][value.season].push_back(value.value.unit);
    }
    std::vector<SeasonRow> rows;
    for (std::size_t s = 1; s < seasons.size(); ++s) {
        std::vector<SiteValue> of_changes;
        std::vector<SeasonRow> made;
        for (const auto& [index, window] : order) {
            auto& units = by_season[{index, window}];
            const std::vector<Unit>&before = units[seasons[s - 1]], &after = units[seasons[s]];
            SeasonRow& row = made.emplace_back();
            row.index = index;
            row.window = window;
            row.season_1 = seasons[s - 1];
            row.season_2 = seasons[s];
            row.difference_1 = contrast_units(before, plan).difference;
            row.difference_2 = contrast_units(after, plan).difference;
            for (Unit& unit : changes(before, after))
                of_changes.push_back({index, window, std::move(unit)});
        }
        // Outcomes without a site in the later season are not among the changes.
        std::map<IndexAndWindow, ContrastRow> tested;
        for (ContrastRow& row : contrast_table(of_changes, plan))
            tested.emplace(IndexAndWindow(row.index, row.window), std::move(row));
        for (SeasonRow& row : made) {
            row.change = tested[{row.index, row.window}];
            row.verdict = in_words(row);
            rows.push_back(std::move(row));
        }
    }
    return rows;
}

TableOf<SeasonRow> seasons_table() {
    using Row = SeasonRow;
    const auto change = [](auto ContrastRow::*member) {
        return [member](const Row& row) { return row.change.*member; };
    };
    return TableOf<Row>("seasons.csv", "change between seasons",
                        "A row is an index, a window, and one season and the next.")
        .column("index", "", "column of the tables that is compared", &Row::index)
        .column("window", "", "named part of the day", &Row::window)
        .column("season_1", "", "the earlier season", &Row::season_1)
        .column("season_2", "", "the later season", &Row::season_2)
        .column("n_a", "1", "sites of class A that have a value in both", change(&ContrastRow::n_a))
        .column("n_b", "1", "sites of class B that have a value in both", change(&ContrastRow::n_b))
        .column("difference_1", "", "A minus B in the earlier season, over its own sites",
                &Row::difference_1)
        .column("difference_2", "", "A minus B in the later season, over its own sites",
                &Row::difference_2)
        .column("change", "", "A minus B of the sites' own changes",
                change(&ContrastRow::difference))
        .column("ci_low", "", "lower end of the confidence interval; -INF when unbounded",
                change(&ContrastRow::ci_low))
        .column("ci_high", "", "upper end of the confidence interval; INF when unbounded",
                change(&ContrastRow::ci_high))
        .column("p", "1", "two-sided p of the permutation test of the changes",
                change(&ContrastRow::p))
        .column("p_min", "1", "least p that this design can give", change(&ContrastRow::p_min))
        .column("p_adjusted", "1", "p adjusted over the rows of a pair of seasons",
                change(&ContrastRow::p_adjusted))
        .column("verdict", "", "the result in a sentence", &Row::verdict);
}

std::string seasons_csv(std::span<const SeasonRow> rows) {
    return csv_of(seasons_table(), rows);
}

}  // namespace hearwood
