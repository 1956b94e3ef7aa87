// Unweighted means: with date means d_ij of site i (D_i dates), date means vary within a site by
// v = between_dates + within_date / m, estimated by the pooled variance of the d_ij within sites;
// site values vary within a class (and block) by between_sites + mean(v / D_i). Balanced data give
// the nested analysis of variance.
#include "contrast/variance.h"

#include <fmt/core.h>

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <map>
#include <utility>

#include "base/lines.h"
#include "base/missing.h"
#include "base/text.h"
#include "contrast/units.h"
#include "contrast/words.h"

namespace hearwood {

namespace {

struct SiteDates {
    Unit unit;
    std::vector<DateValue> dates;
};

/// Sites of the two classes with their dates, sorted by name; dates without a value are left out.
std::vector<SiteDates> by_site(std::span<const DateValue> values, const ContrastPlan& plan) {
    std::map<std::string, SiteDates> sites;
    for (const DateValue& value : values) {
        if (is_missing(value.mean)) continue;
        if (value.stand != plan.class_a && value.stand != plan.class_b) continue;
        SiteDates& site = sites[value.site];
        site.unit = {value.site, value.stand, value.block, 0};
        site.dates.push_back(value);
    }
    std::vector<SiteDates> list;
    for (auto& [name, site] : sites) {
        std::sort(site.dates.begin(), site.dates.end(),
                  [](const DateValue& x, const DateValue& y) { return x.date < y.date; });
        double sum = 0;
        for (const DateValue& date : site.dates) sum += date.mean;
        site.unit.value = sum / static_cast<double>(site.dates.size());
        list.push_back(std::move(site));
    }
    return list;
}

struct Pool {
    double squares = 0, freedom = 0;
    double variance() const { return freedom > 0 ? squares / freedom : kMissing; }
};

Pool variance_of_dates(const std::vector<SiteDates>& sites) {
    Pool pool;
    for (const SiteDates& site : sites) {
        for (const DateValue& date : site.dates)
            pool.squares += (date.mean - site.unit.value) * (date.mean - site.unit.value);
        pool.freedom += static_cast<double>(site.dates.size()) - 1;
    }
    return pool;
}

Pool variance_of_segments(const std::vector<SiteDates>& sites) {
    Pool pool;
    for (const SiteDates& site : sites) {
        for (const DateValue& date : site.dates) {
            if (is_missing(date.variance) || date.segments < 2) continue;
            pool.squares += date.variance * (date.segments - 1);
            pool.freedom += date.segments - 1;
        }
    }
    return pool;
}

/// Sites a class of the equal design that is as exact as this one; 0 without sites.
double sites_per_class(const VarianceComponents& c) {
    if (c.sites_a == 0 || c.sites_b == 0) return 0;
    return 2.0 / (1.0 / c.sites_a + 1.0 / c.sites_b);
}

double harmonic_mean(double sum_of_inverses, std::size_t count) {
    return sum_of_inverses > 0 ? static_cast<double>(count) / sum_of_inverses : 0;
}

}  // namespace

double VarianceComponents::of_site_value(double dates, double segments) const {
    const double within = !is_missing(within_date) ? within_date / segments : 0;
    return between_sites + (between_dates + within) / dates;
}

VarianceComponents variance_components(std::span<const DateValue> values,
                                       const ContrastPlan& plan) {
    const std::vector<SiteDates> sites = by_site(values, plan);
    std::vector<Unit> units;
    double inverse_dates = 0, inverse_segments = 0;
    std::size_t date_count = 0;
    for (const SiteDates& site : sites) {
        units.push_back(site.unit);
        inverse_dates += 1 / static_cast<double>(site.dates.size());
        for (const DateValue& date : site.dates) {
            inverse_segments += 1.0 / std::max(1, date.segments);
            ++date_count;
        }
    }
    VarianceComponents components;
    const std::vector<std::string> classes{plan.class_a, plan.class_b};
    const ReadyUnits ready = ready_units(units, classes);
    components.sites_a = ready.counts[0];
    components.sites_b = ready.counts[1];
    if (components.sites_a < 2 || components.sites_b < 2) return components;
    components.dates_per_site = harmonic_mean(inverse_dates, sites.size());
    components.segments_per_date = harmonic_mean(inverse_segments, date_count);
    components.within_date = variance_of_segments(sites).variance();
    const double of_dates = variance_of_dates(sites).variance();
    const double of_sites = residual_variance(ready);
    if (is_missing(of_dates)) {
        // One date a site: what dates do cannot be told from what sites do.
        components.between_sites = of_sites;
        return components;
    }
    const double within = !is_missing(components.within_date)
                              ? components.within_date / components.segments_per_date
                              : 0;
    components.between_dates = std::max(0.0, of_dates - within);
    components.between_sites = std::max(0.0, of_sites - of_dates / components.dates_per_site);
    return components;
}

double expected_width(const VarianceComponents& components, double sites_per_class, double dates,
                      double level) {
    const double df = 2 * sites_per_class - 2;
    if (!(df > 0) || is_missing(components.between_dates)) return kMissing;
    const double variance = components.of_site_value(dates, components.segments_per_date);
    const boost::math::students_t t(df);
    return 2 * boost::math::quantile(t, (1 + level) / 2) *
           std::sqrt(2 * variance / sites_per_class);
}

std::string next_season(const VarianceComponents& components, double level) {
    if (components.sites_a < 2 || components.sites_b < 2)
        return "Nothing can be said about the next season: fewer than 2 sites in a class.";
    if (is_missing(components.between_dates))
        return "With one date a site, what more nights would bring cannot be told: sample a few "
               "sites on several dates.";
    const double sites = sites_per_class(components);
    const double now = expected_width(components, sites, components.dates_per_site, level);
    if (!(now > 0)) return "The sites do not vary, so neither more sites nor more nights matter.";
    const auto saved = [&](double more_sites, double more_dates) {
        const double then = expected_width(components, sites * more_sites,
                                           components.dates_per_site * more_dates, level);
        return std::round(100 * (1 - then / now));
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
            const VarianceComponents& c = row.components;
            return expected_width(c, sites * sites_per_class(c), dates * c.dates_per_site, level);
        };
    };
    return TableOf<Row>("variance.csv", "variance components",
                        "A row is an index and a window: where the spread comes from.")
        .column("index", "", "column of the tables that is compared", &Row::index)
        .column("window", "", "named part of the day", &Row::window)
        .column("between_sites", "", "variance between sites of a class",
                of(&VarianceComponents::between_sites))
        .column("between_dates", "", "variance between dates within a site",
                of(&VarianceComponents::between_dates))
        .column("within_date", "", "variance between segments within a date",
                of(&VarianceComponents::within_date))
        .column("share_between_sites", "1",
                "share of a site value's variance that lies between sites",
                [](const Row& row) {
                    const VarianceComponents& c = row.components;
                    const double total = c.of_site_value(c.dates_per_site, c.segments_per_date);
                    return total > 0 ? c.between_sites / total : kMissing;
                })
        .column("dates_per_site", "1", "harmonic mean of dates a site",
                mean(&VarianceComponents::dates_per_site))
        .column("segments_per_date", "1", "harmonic mean of segments a date",
                mean(&VarianceComponents::segments_per_date))
        .column("n_a", "1", "sites of class A that took part",
                [](const Row& row) { return row.components.sites_a; })
        .column("n_b", "1", "sites of class B that took part",
                [](const Row& row) { return row.components.sites_b; })
        .column("width_now", "", "expected width of the interval with this effort", width(1, 1))
        .column("width_double_sites", "", "the same with twice the sites", width(2, 1))
        .column("width_double_dates", "", "the same with twice the dates", width(1, 2));
}

std::string variance_csv(std::span<const VarianceRow> rows, double level) {
    return csv_of(variance_table(level), rows);
}

}  // namespace hearwood
