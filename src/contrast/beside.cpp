#include "contrast/beside.h"

#include <fmt/core.h>

#include <algorithm>
#include <string>

#include "aggregate/band_hours.h"
#include "base/log.h"
#include "base/missing.h"
#include "base/text.h"

namespace hearwood {

namespace {

/// A column of sites.csv as numbers; else one line on stderr.
std::optional<SiteNumbers> site_numbers(const Survey& survey, const std::string& key,
                                        const std::string& column, const std::string& without) {
    SiteNumbers numbers{column, {}};
    for (const Site& site : survey.sites)
        if (const auto value = number_in(site, survey, column))
            numbers.of_site.emplace(site.name, *value);
    const bool varies = std::any_of(numbers.of_site.begin(), numbers.of_site.end(), [&](auto& one) {
        return one.second != numbers.of_site.begin()->second;
    });
    if (varies) return numbers;
    log_line(fmt::format("survey.toml ({}) '{}': {}; {}", key, printable(column),
                         numbers.of_site.empty()
                             ? "no site has a number in such a column of sites.csv"
                             : "all sites have the same number",
                         without));
    return std::nullopt;
}

/// Cells that any site has.
Patterns patterns_of(const Survey& survey, const BandHours& bands) {
    Patterns patterns;
    std::vector<std::size_t> order(survey.sites.size());
    for (std::size_t s = 0; s < order.size(); ++s) order[s] = s;
    std::sort(order.begin(), order.end(), [&](std::size_t x, std::size_t y) {
        return survey.sites[x].name < survey.sites[y].name;
    });
    for (const std::size_t s : order) {
        const Site& site = survey.sites[s];
        patterns.sites.push_back({site.name, site.stand, site.block, 0});
    }
    for (std::size_t hour = 0; hour < 24; ++hour) {
        for (std::size_t b = 0; b < bands.bands.size(); ++b) {
            std::vector<double> row;
            for (const std::size_t s : order) row.push_back(bands.values[s][hour][b]);
            if (std::all_of(row.begin(), row.end(), is_missing)) continue;
            patterns.cells.push_back(
                {static_cast<int>(hour), bands.bands[b].low_hz, bands.bands[b].high_hz});
            patterns.values.push_back(std::move(row));
        }
    }
    return patterns;
}

template <typename Row>
const Row* row_of(const std::vector<Row>& rows, const ContrastRow& shown) {
    for (const Row& row : rows)
        if (row.index == shown.index && row.window == shown.window) return &row;
    return nullptr;
}

}  // namespace

BesideContrast compute_beside(const Survey& survey, const Store& store,
                              const JudgedSegments& segments, const SiteValues& averages,
                              const std::vector<SiteValue>& values, const ContrastPlan& plan) {
    BesideContrast beside;
    for (const std::string& column : survey.contrast.adjust)
        if (auto numbers = site_numbers(survey, "contrast.adjust", column,
                                        "the contrast is not adjusted for it"))
            beside.adjusted_for.push_back(std::move(*numbers));
    if (!beside.adjusted_for.empty())
        beside.adjusted = adjusted_table(values, beside.adjusted_for, plan);
    if (!survey.stands.gradient.empty())
        beside.along = site_numbers(survey, "stands.gradient", survey.stands.gradient,
                                    "no gradient is followed");
    if (beside.along) beside.gradient = gradient_table(values, *beside.along, plan);
    beside.cells =
        patterns_of(survey, band_hours(survey, store, segments, lowest_rate_of(averages)));
    beside.patterns = contrast_patterns(beside.cells, plan, survey.contrast.cluster_threshold);
    return beside;
}

std::vector<std::string> beside_in_words(const BesideContrast& beside, const ContrastRow& shown,
                                         const ContrastPlan& plan) {
    std::vector<std::string> sentences;
    if (const AdjustedRow* row = row_of(beside.adjusted, shown))
        sentences.push_back(adjusted_in_words(*row, beside.adjusted_for, plan));
    if (const GradientRow* row = row_of(beside.gradient, shown))
        sentences.push_back(gradient_in_words(*row, *beside.along, plan));
    return sentences;
}

}  // namespace hearwood
