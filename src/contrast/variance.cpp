// The two-way model of site and date (nights_of): residuals of nights vary by v = site_by_date +
// within_date / m; site values vary within a class (and block) by between_sites + mean(v / D_i).
#include "contrast/variance.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <string>
#include <utility>

#include "base/lines.h"
#include "base/missing.h"
#include "base/text.h"
#include "contrast/units.h"
#include "contrast/words.h"
#include "statistics/additive_model.h"
#include "statistics/unequal.h"

namespace hearwood {

namespace {

// Outside of these the formula for the width does not describe the survey at hand.
constexpr double kLeastRatio = 0.8, kLargestRatio = 1.25;

double variance_of_segments(const std::vector<SiteNights>& sites) {
    double squares = 0, freedom = 0;
    for (const SiteNights& site : sites) {
        for (const DateValue& date : site.dates) {
            if (is_missing(date.variance) || date.segments < 2) continue;
            squares += date.variance * (date.segments - 1);
            freedom += date.segments - 1;
        }
    }
    return freedom > 0 ? squares / freedom : kMissing;
}

double harmonic_mean(double sum_of_inverses, std::size_t count) {
    return sum_of_inverses > 0 ? static_cast<double>(count) / sum_of_inverses : 0;
}

}  // namespace

double VarianceComponents::width(double times_sites, double times_dates, double level) const {
    const double df = times_sites * (sites_a + sites_b) - blocks - 1;
    if (!(df > 0) || !(information > 0) || is_missing(nights)) return kMissing;
    // Of the variance of site values no more than all of it comes from nights.
    const double from_nights = std::min(nights / dates_per_site, site_values);
    const double variance = site_values - from_nights * (1 - 1 / times_dates);
    return 2 * student_quantile((1 + level) / 2, df) *
           std::sqrt(variance / (information * times_sites));
}

VarianceComponents variance_components(std::span<const DateValue> values,
                                       const ContrastPlan& plan) {
    const Nights nights = nights_of(values, plan);
    std::vector<Unit> units;
    double inverse_dates = 0, inverse_segments = 0;
    std::size_t date_count = 0;
    for (const SiteNights& site : nights.sites) {
        units.push_back(site.unit);
        inverse_dates += 1 / static_cast<double>(site.dates.size());
        for (const DateValue& date : site.dates)
            inverse_segments += 1.0 / std::max(1, date.segments);
        date_count += site.dates.size();
    }
    VarianceComponents c;
    const std::vector<std::string> classes{plan.class_a, plan.class_b};
    const ReadyUnits ready = ready_units(units, classes);
    c.sites_a = ready.counts[0];
    c.sites_b = ready.counts[1];
    if (c.sites_a < 2 || c.sites_b < 2) return c;
    c.blocks = ready.layout.block_count;
    c.information = information(ready.layout);
    c.dates_per_site = harmonic_mean(inverse_dates, nights.sites.size());
    c.segments_per_date = harmonic_mean(inverse_segments, date_count);
    c.within_date = variance_of_segments(nights.sites);
    c.site_values = residual_variance(ready);
    c.between_sites = c.site_values;
    // Without a degree of freedom what nights do cannot be told from what sites do.
    if (!(nights.freedom > 0)) return c;
    c.nights = nights.squares / nights.freedom;
    const double within = !is_missing(c.within_date) ? c.within_date / c.segments_per_date : 0;
    c.site_by_date = std::max(0.0, c.nights - within);
    c.between_sites = std::max(0.0, c.site_values - c.nights / c.dates_per_site);
    return c;
}

bool can_advise(const VarianceComponents& components, const ContrastRow& row) {
    if (!row.tested() || row.unbounded()) return false;
    const double ratio = components.width(1, 1, row.level) / (row.ci_high - row.ci_low);
    return ratio >= kLeastRatio && ratio <= kLargestRatio;
}

std::string next_season(const VarianceComponents& components, const ContrastRow& row) {
    if (!row.tested())
        return "Nothing can be said about the next season: fewer than 2 sites in a class.";
    if (row.unbounded())
        return fmt::format(
            "More nights cannot help: with {} and {} sites no difference can be shown, whatever is "
            "recorded. More sites come first ('hearwood plan --power' says how many).",
            row.n_a, row.n_b);
    if (is_missing(components.nights))
        return "What more nights would bring cannot be told: too few sites were recorded on the "
               "same "
               "dates.";
    const double now = components.width(1, 1, row.level);
    if (!(now > 0)) return "The sites do not vary, so neither more sites nor more nights matter.";
    if (!can_advise(components, row))
        return fmt::format(
            "No advice: what the spread of sites and nights foretells for this season (an interval "
            "{} wide) is not what the exact one is ({} wide).",
            readable_number(now), readable_number(row.ci_high - row.ci_low));
    const auto saved = [&](double sites, double dates) {
        return std::round(100 * (1 - components.width(sites, dates, row.level) / now));
    };
    const double by_sites = saved(2, 1), by_dates = saved(1, 2);
    return fmt::format(
        "Twice as many nights at the same sites would narrow the interval by about {} %, twice as "
        "many sites with the same nights by about {} %{}",
        readable_plain(by_dates), readable_plain(by_sites),
        by_dates < 10 ? ": more nights at the same sites bring little, new sites do."
                      : ": both help, sites more.");
}

TableOf<VarianceRow> variance_table(double level) {
    using Row = VarianceRow;
    const auto of = [](double VarianceComponents::*member) {
        return [member](const Row& row) { return row.components.*member; };
    };
    const auto mean = [](double VarianceComponents::*member) {
        return [member](const Row& row) {
            const double value = row.components.*member;
            return value > 0 ? value : kMissing;
        };
    };
    const auto width = [level](double sites, double dates) {
        return [=](const Row& row) {
            return row.advise ? row.components.width(sites, dates, level) : kMissing;
        };
    };
    return TableOf<Row>("variance.csv", "variance components",
                        "A row is an index and a window: where the spread comes from.")
        .column("index", "", "column of the tables that is compared", &Row::index)
        .column("window", "", "named part of the day", &Row::window)
        .column("between_sites", "", "variance between sites of a class",
                of(&VarianceComponents::between_sites))
        .column("site_by_date", "",
                "variance of a site's nights about what the dates did at all sites",
                of(&VarianceComponents::site_by_date))
        .column("within_date", "", "variance between segments within a date",
                of(&VarianceComponents::within_date))
        .column("share_between_sites", "1",
                "share of a site value's variance that lies between sites",
                [](const Row& row) {
                    const VarianceComponents& c = row.components;
                    return c.site_values > 0 ? c.between_sites / c.site_values : kMissing;
                })
        .column("dates_per_site", "1", "harmonic mean of dates a site",
                mean(&VarianceComponents::dates_per_site))
        .column("segments_per_date", "1", "harmonic mean of segments a date",
                mean(&VarianceComponents::segments_per_date))
        .column("n_a", "1", "sites of class A that took part",
                [](const Row& row) { return row.components.sites_a; })
        .column("n_b", "1", "sites of class B that took part",
                [](const Row& row) { return row.components.sites_b; })
        .column("width_now", "",
                "expected width of the interval with this effort; empty where it is not 0.8 to "
                "1.25 times "
                "the exact one's, or that is unbounded",
                width(1, 1))
        .column("width_double_sites", "", "the same with twice the sites", width(2, 1))
        .column("width_double_dates", "", "the same with twice the dates", width(1, 2));
}

std::string variance_csv(std::span<const VarianceRow> rows, double level) {
    return csv_of(variance_table(level), rows);
}

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
