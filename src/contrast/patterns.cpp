#include "contrast/patterns.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <map>
#include <optional>
#include <set>
#include <span>
#include <tuple>

#include "base/missing.h"
#include "base/text.h"
#include "contrast/units.h"
#include "contrast/words.h"

namespace hearwood {

bool PatternCell::operator<(const PatternCell& other) const {
    return std::tie(hour, low_hz, high_hz) < std::tie(other.hour, other.low_hz, other.high_hz);
}

namespace {

/// A site without any value takes no part; otherwise none would be left of the cells.
bool has_any(const Patterns& patterns, std::size_t site) {
    return std::any_of(patterns.values.begin(), patterns.values.end(),
                       [&](const std::vector<double>& cell) { return !is_missing(cell[site]); });
}

/// Cells that every unit has, values in the units' order.
std::vector<DayPitchCell> whole_cells(const Patterns& patterns, const ReadyUnits& ready,
                                      std::vector<std::size_t>& places) {
    std::vector<std::size_t> columns;
    for (const Unit& unit : ready.units) {
        const auto site = std::find_if(patterns.sites.begin(), patterns.sites.end(),
                                       [&](const Unit& one) { return one.site == unit.site; });
        columns.push_back(static_cast<std::size_t>(site - patterns.sites.begin()));
    }
    std::vector<DayPitchCell> cells;
    for (std::size_t c = 0; c < patterns.cells.size(); ++c) {
        const PatternCell& cell = patterns.cells[c];
        DayPitchCell whole{cell.hour, cell.low_hz, cell.high_hz, {}};
        for (const std::size_t column : columns) whole.values.push_back(patterns.values[c][column]);
        if (std::any_of(whole.values.begin(), whole.values.end(), is_missing)) continue;
        places.push_back(c);
        cells.push_back(std::move(whole));
    }
    return cells;
}

void add_map(PatternResults& results, const PairTest& test, std::span<const DayPitchCell> cells,
             const std::vector<std::size_t>& places, double threshold) {
    if (!reaches(test.p_min(), results.level)) {
        results.no_map =
            fmt::format("no map of day and pitch: the least p that these sites can give is {}",
                        readable_p(test.p_min()));
        return;
    }
    const std::vector<DayPitchResult> whole = day_pitch(test, cells, threshold);
    results.day_pitch.resize(results.cells.size());
    for (std::size_t i = 0; i < whole.size(); ++i) results.day_pitch[places[i]] = whole[i];
}

/// "the hours 22 to 2": from the end of the longest gap between them to its beginning.
std::string hours_in_words(const std::set<int>& hours) {
    int first = *hours.begin(), last = *hours.rbegin(), longest = first + 24 - last;
    for (auto hour = hours.begin(); std::next(hour) != hours.end(); ++hour) {
        const int gap = *std::next(hour) - *hour;
        if (gap <= longest) continue;
        longest = gap;
        first = *std::next(hour);
        last = *hour;
    }
    if (longest == 1) return "all hours of the day";
    return first == last ? fmt::format("the hour {}", first)
                         : fmt::format("the hours {} to {}", first, last);
}

std::string cluster_words(const PatternResults& results, const ContrastPlan& plan) {
    std::map<int, std::pair<double, double>> clusters;  // number: p, sign
    for (const DayPitchResult& cell : results.day_pitch)
        if (cell.cluster > 0) clusters[cell.cluster] = {cell.cluster_p, cell.t};
    std::string text;
    for (const auto& [number, cluster] : clusters) {
        if (!reaches(cluster.first, results.level)) continue;
        std::set<int> hours;
        double low = 1e9, high = 0;
        for (std::size_t c = 0; c < results.day_pitch.size(); ++c) {
            if (results.day_pitch[c].cluster != number) continue;
            hours.insert(results.cells[c].hour);
            low = std::min(low, results.cells[c].low_hz);
            high = std::max(high, results.cells[c].high_hz);
        }
        text += fmt::format(
            " Values are higher at {} than at {} sites somewhere in {}, {} to {} Hz (p = {}); "
            "where "
            "in there it begins and ends is not shown.",
            cluster.second > 0 ? plan.class_a : plan.class_b,
            cluster.second > 0 ? plan.class_b : plan.class_a, hours_in_words(hours),
            readable_plain(low), readable_plain(high), readable_p(cluster.first));
    }
    if (text.empty()) text = " No part of the day and pitch is shown to differ.";
    return text;
}

}  // namespace

PatternResults contrast_patterns(const Patterns& patterns, const ContrastPlan& plan,
                                 double threshold) {
    PatternResults results;
    results.level = plan.level;
    results.cells = patterns.cells;
    std::vector<Unit> sites = patterns.sites;
    for (std::size_t s = 0; s < sites.size(); ++s)
        sites[s].value = has_any(patterns, s) ? 0 : kMissing;
    const std::array<std::string, 2> classes{plan.class_a, plan.class_b};
    const ReadyUnits ready = ready_units(sites, classes);
    if (ready.counts[0] < 2 || ready.counts[1] < 2) {
        results.reason = "fewer than 2 sites in a class";
        return results;
    }
    results.missing_sites = ready.missing_sites;
    std::vector<std::size_t> places;
    const std::vector<DayPitchCell> cells = whole_cells(patterns, ready, places);
    results.cells_left_out = static_cast<int>(patterns.cells.size() - cells.size());
    if (cells.empty()) {
        results.reason = "no hour and band that every site has";
        return results;
    }
    for (const Unit& unit : ready.units) results.sites.push_back(unit.site);
    const PairTest test(ready.layout, plan.seed, plan.limits);
    std::vector<std::vector<double>> columns;
    for (const DayPitchCell& cell : cells) columns.push_back(cell.values);
    results.composition = compose(test, columns);
    if (reaches(results.composition.dispersion_p, plan.level))
        results.qualifier =
            "The classes scatter differently, so that F mixes where they lie with how far their "
            "sites lie apart.";
    add_map(results, test, cells, places, threshold);
    return results;
}

TableOf<PatternResults> composition_table() {
    using Row = PatternResults;
    const auto of = [](double Composition::*member) {
        return [member](const Row& row) { return row.composition.*member; };
    };
    return TableOf<Row>("composition.csv", "composition",
                        "One row: whether the classes differ in the pattern over hours and bands.")
        .column("f", "1", "pseudo-F of class given block; INF when nothing is left over",
                of(&Composition::f))
        .column("p", "1", "p of the permutation test", of(&Composition::p))
        .column("cells_left_out", "1", "cells of hour and band that a compared site lacks",
                &Row::cells_left_out)
        .column("dispersion_f", "1",
                "F of class given block of how far the sites lie from class and block",
                of(&Composition::dispersion_f))
        .column("dispersion_p", "1", "p of that; where it is small f mixes place and spread",
                of(&Composition::dispersion_p))
        .column("share_1", "1", "share of the first principal coordinate",
                of(&Composition::share_1))
        .column("share_2", "1", "share of the second principal coordinate",
                of(&Composition::share_2));
}

TableOf<OrdinationRow> ordination_table() {
    using Row = OrdinationRow;
    return TableOf<Row>("ordination.csv", "ordination",
                        "A row is a site: its first two principal coordinates.")
        .column("site", "", "recording site", &Row::site)
        .column("axis_1", "1", "first principal coordinate", &Row::axis_1)
        .column("axis_2", "1", "second principal coordinate", &Row::axis_2);
}

TableOf<DayPitchRow> day_pitch_table() {
    using Row = DayPitchRow;
    const auto of = [](double DayPitchResult::*member) {
        return [member](const Row& row) { return row.result.*member; };
    };
    return TableOf<Row>("day_pitch.csv", "where in the day and in pitch",
                        "A row is an hour and a band; no rows where no cell could reach the level.")
        .column("hour", "h", "hour of the local clock",
                [](const Row& row) { return row.cell.hour; })
        .column("low_hz", "Hz", "lower end of the band",
                [](const Row& row) { return row.cell.low_hz; })
        .column("high_hz", "Hz", "upper end of the band, not in it",
                [](const Row& row) { return row.cell.high_hz; })
        .column("mean_a", "1", "plain mean of the sites of class A", of(&DayPitchResult::mean_a))
        .column("mean_b", "1", "plain mean of the sites of class B", of(&DayPitchResult::mean_b))
        .column("difference", "1", "A minus B, adjusted for blocks",
                of(&DayPitchResult::difference))
        .column("t", "1", "difference over its standard error under the block model",
                of(&DayPitchResult::t))
        .column("p_adjusted", "1", "p adjusted by the largest t over all cells, step-down",
                of(&DayPitchResult::p_adjusted))
        .column("cluster", "1", "number of the cluster, 1 the heaviest; empty: in none",
                [](const Row& row) {
                    return row.result.cluster > 0 ? std::optional(row.result.cluster)
                                                  : std::nullopt;
                })
        .column("cluster_p", "1", "p of the cluster's mass", of(&DayPitchResult::cluster_p));
}

std::string composition_csv(const PatternResults& results) {
    return csv_of(composition_table(), std::span(&results, 1));
}

std::vector<OrdinationRow> ordination_rows(const PatternResults& results) {
    std::vector<OrdinationRow> rows;
    for (std::size_t i = 0; i < results.composition.axes.size(); ++i)
        rows.push_back(
            {results.sites[i], results.composition.axes[i][0], results.composition.axes[i][1]});
    return rows;
}

std::vector<DayPitchRow> day_pitch_rows(const PatternResults& results) {
    std::vector<DayPitchRow> rows;
    // Cells that were left out have no means.
    for (std::size_t i = 0; i < results.day_pitch.size(); ++i)
        if (!is_missing(results.day_pitch[i].mean_a))
            rows.push_back({results.cells[i], results.day_pitch[i]});
    return rows;
}

std::string ordination_csv(const PatternResults& results) {
    const auto rows = ordination_rows(results);
    return csv_of(ordination_table(), std::span<const OrdinationRow>(rows));
}

std::string day_pitch_csv(const PatternResults& results) {
    const auto rows = day_pitch_rows(results);
    return csv_of(day_pitch_table(), std::span<const DayPitchRow>(rows));
}

std::string patterns_in_words(const PatternResults& results, const ContrastPlan& plan) {
    if (!results.reason.empty()) return "Patterns were not compared: " + results.reason + ".";
    const Composition& c = results.composition;
    if (is_missing(c.p)) return "Patterns were not compared: nothing varies within blocks.";
    std::string text =
        reaches(c.p_min, results.level)
            ? fmt::format(
                  "The pattern over hours and bands {} between {} and {} sites (pseudo-F "
                  "{}, p = {}).",
                  reaches(c.p, results.level) ? "differs" : "is not shown to differ", plan.class_a,
                  plan.class_b, readable_number(c.f), readable_p(c.p))
            : fmt::format("With these sites no pattern could be shown to differ (least p {}).",
                          readable_p(c.p_min));
    if (!results.qualifier.empty()) text += " " + results.qualifier;
    if (!results.missing_sites.empty())
        text += fmt::format(" Without {}, which {} no values.", join(results.missing_sites, ", "),
                            results.missing_sites.size() == 1 ? "has" : "have");
    if (results.cells_left_out > 0)
        text += fmt::format(" {} left out, missing at a site.",
                            counted(results.cells_left_out, "cell was", "cells were"));
    return text + (results.no_map.empty() ? cluster_words(results, plan)
                                          : fmt::format(" There is {}.", results.no_map));
}

}  // namespace hearwood
