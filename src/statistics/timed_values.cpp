#include "statistics/timed_values.h"

#include <fmt/core.h>

#include <algorithm>
#include <map>
#include <tuple>

#include "statistics/additive_model.h"

namespace hearwood {

namespace {

/// Names numbered in their order.
std::map<std::string, int> numbered(std::span<const DatedValue> values,
                                    std::string DatedValue::*name) {
    std::map<std::string, int> numbers;
    for (const DatedValue& value : values) numbers.emplace(value.*name, 0);
    int next = 0;
    for (auto& [key, number] : numbers) number = next++;
    return numbers;
}

std::string reason_of(const SiteEstimate& estimate, std::size_t comparable) {
    if (estimate.cells == 0) return "it has no values";
    if (estimate.comparable) return "";
    return fmt::format(
        "its dates and cells do not tie it to the {} sites that can be compared with each other",
        comparable);
}

}  // namespace

std::vector<TimedSite> timed_site_values(std::span<const DatedValue> values) {
    const auto sites = numbered(values, &DatedValue::site);
    const auto dates = numbered(values, &DatedValue::date);
    const auto cells = numbered(values, &DatedValue::cell);
    std::vector<std::pair<DesignCell, double>> rows;
    for (const DatedValue& value : values)
        if (!is_missing(value.value))
            rows.push_back(
                {{sites.at(value.site), dates.at(value.date), cells.at(value.cell)}, value.value});
    std::sort(rows.begin(), rows.end());

    AdditiveModel model(sites.size(), 1);
    for (const auto& [where, value] : rows) model.add(where, std::span(&value, 1));
    const AdditiveModel::Fit fit = model.fit();
    const std::vector<SiteEstimate>& estimates = fit.columns[0];
    const auto comparable = static_cast<std::size_t>(std::count_if(
        estimates.begin(), estimates.end(), [](const SiteEstimate& e) { return e.comparable; }));
    std::vector<TimedSite> result;
    for (const auto& [site, number] : sites) {
        const SiteEstimate& e = estimates[static_cast<std::size_t>(number)];
        result.push_back({site, e.value, e.cells, e.leans, reason_of(e, comparable)});
    }
    return result;
}

}  // namespace hearwood
