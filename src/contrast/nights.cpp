#include "contrast/nights.h"

#include <algorithm>
#include <map>
#include <set>
#include <string>

#include "base/missing.h"
#include "statistics/additive_model.h"

namespace hearwood {

namespace {

/// Nights of the two classes by site and date.
using ByNight = std::map<std::string, std::map<std::string, DateValue>>;

ByNight compared(std::span<const DateValue> values, const ContrastPlan& plan) {
    ByNight nights;
    for (const DateValue& value : values)
        if (!is_missing(value.mean) && (value.stand == plan.class_a || value.stand == plan.class_b))
            nights[value.site][value.date] = value;
    return nights;
}

}  // namespace

Nights nights_of(std::span<const DateValue> values, const ContrastPlan& plan) {
    const ByNight by_night = compared(values, plan);
    std::map<std::string, int> date_numbers;
    for (const auto& [site, dates] : by_night)
        for (const auto& [date, value] : dates) date_numbers.emplace(date, 0);
    int next = 0;
    for (auto& [date, number] : date_numbers) number = next++;

    AdditiveModel model(by_night.size(), 1);
    int site_number = 0;
    for (const auto& [site, dates] : by_night) {
        for (const auto& [date, value] : dates)
            model.add({site_number, date_numbers[date], 0}, std::span(&value.mean, 1));
        ++site_number;
    }
    const AdditiveModel::Fit fit = model.fit();

    Nights result;
    std::set<std::string> dates_used;
    auto night = fit.nights.begin();
    for (const auto& [name, dates] : by_night) {
        const double site_value = fit.columns[0][result.sites.size()].value;
        SiteNights& site = result.sites.emplace_back();
        for (const auto& [date, value] : dates) {
            site.unit = {value.site, value.stand, value.block, site_value};
            site.dates.push_back(value);
            site.dates.back().mean = (night++)->values[0];
            const double residual = site.dates.back().mean - site_value;
            if (is_missing(residual)) continue;
            result.squares += residual * residual;
            result.freedom += 1;
            dates_used.insert(date);
        }
    }
    std::erase_if(result.sites, [](const SiteNights& site) { return is_missing(site.unit.value); });
    result.freedom -= static_cast<double>(result.sites.size() + dates_used.size()) - 1;
    return result;
}

}  // namespace hearwood
