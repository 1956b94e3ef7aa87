#include "contrast/patterns.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <tuple>

#include "base/missing.h"
#include "base/text.h"
#include "contrast/csv.h"
#include "contrast/units.h"
#include "contrast/words.h"

namespace hearwood {

bool PatternCell::operator<(const PatternCell& other) const {
    return std::tie(hour, low_hz, high_hz) < std::tie(other.hour, other.low_hz, other.high_hz);
}

namespace {

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

std::string cluster_words(const PatternResults& results, const ContrastPlan& plan) {
    std::map<int, std::pair<double, double>> clusters;  // number: p, sign
    for (const DayPitchResult& cell : results.day_pitch)
        if (cell.cluster > 0) clusters[cell.cluster] = {cell.cluster_p, cell.t};
    std::string text;
    for (const auto& [number, cluster] : clusters) {
        if (!reaches(cluster.first, results.level)) continue;
        int first = 24, last = -1;
        double low = 1e9, high = 0;
        for (std::size_t c = 0; c < results.day_pitch.size(); ++c) {
            if (results.day_pitch[c].cluster != number) continue;
            first = std::min(first, results.cells[c].hour);
            last = std::max(last, results.cells[c].hour);
            low = std::min(low, results.cells[c].low_hz);
            high = std::max(high, results.cells[c].high_hz);
        }
        text += fmt::format(
            " Values are higher at {} than at {} sites somewhere in the hours {} to {}, {} to {} "
            "Hz "
            "(p = {}); where in there it begins and ends is not shown.",
            cluster.second > 0 ? plan.class_a : plan.class_b,
            cluster.second > 0 ? plan.class_b : plan.class_a, first, last, readable_plain(low),
            readable_plain(high), readable_p(cluster.first));
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
    for (Unit& site : sites) site.value = 0;
    const std::array<std::string, 2> classes{plan.class_a, plan.class_b};
    const ReadyUnits ready = ready_units(sites, classes);
    if (ready.counts[0] < 2 || ready.counts[1] < 2) {
        results.reason = "fewer than 2 sites in a class";
        return results;
    }
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

std::string composition_csv(const PatternResults& results) {
    const Composition& c = results.composition;
    CsvLine line;
    line.number(c.f).number(c.p).count(results.cells_left_out);
    for (const double number : {c.dispersion_f, c.dispersion_p, c.share_1, c.share_2})
        line.number(number);
    return "f,p,cells_left_out,dispersion_f,dispersion_p,share_1,share_2\n" + line.take();
}

std::string ordination_csv(const PatternResults& results) {
    std::string bytes = "site,axis_1,axis_2\n";
    CsvLine line;
    for (std::size_t i = 0; i < results.composition.axes.size(); ++i) {
        const auto& [first, second] = results.composition.axes[i];
        bytes += line.text(results.sites[i]).number(first).number(second).take();
    }
    return bytes;
}

std::string day_pitch_csv(const PatternResults& results) {
    std::string bytes =
        "hour,low_hz,high_hz,mean_a,mean_b,difference,t,p_adjusted,cluster,cluster_p\n";
    CsvLine line;
    for (std::size_t i = 0; i < results.day_pitch.size(); ++i) {
        const PatternCell& cell = results.cells[i];
        const DayPitchResult& result = results.day_pitch[i];
        line.count(cell.hour).number(cell.low_hz).number(cell.high_hz);
        for (const double number :
             {result.mean_a, result.mean_b, result.difference, result.t, result.p_adjusted})
            line.number(number);
        result.cluster > 0 ? line.count(result.cluster) : line.empty();
        bytes += line.number(result.cluster_p).take();
    }
    return bytes;
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
    if (results.cells_left_out > 0)
        text += fmt::format(" {} left out, missing at a site.",
                            counted(results.cells_left_out, "cell was", "cells were"));
    return text + (results.no_map.empty() ? cluster_words(results, plan)
                                          : fmt::format(" There is {}.", results.no_map));
}

}  // namespace hearwood
