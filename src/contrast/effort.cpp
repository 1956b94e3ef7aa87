// Effort curves: how the interval widens when fewer dates are kept.
#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "base/missing.h"
#include "contrast/units.h"
#include "contrast/variance.h"
#include "statistics/pair_test.h"
#include "statistics/quantile.h"
#include "statistics/random.h"

namespace hearwood {

namespace {

// Hundreds of intervals are computed, and quartiles of their width need no 200,000 permutations
// each.
constexpr PermutationLimits kResampleLimits{1000, 999};
constexpr int kMostPoints = 8;

/// Date means of each unit, in the units' order.
using DateMeans = std::vector<std::vector<double>>;

/// Mean of `dates` of the site's dates, drawn without replacement.
double resampled_mean(std::vector<double> means, int dates, Random& random) {
    const std::size_t kept = std::min(means.size(), static_cast<std::size_t>(dates));
    double sum = 0;
    for (std::size_t i = 0; i < kept; ++i) {
        std::swap(means[i], means[i + random.below(means.size() - i)]);
        sum += means[i];
    }
    return sum / static_cast<double>(kept);
}

/// At most kMostPoints numbers of dates from 1 to most, evenly spread, the ends among them.
std::vector<int> points_up_to(int most) {
    const int count = std::min(most, kMostPoints);
    std::vector<int> points;
    points.reserve(static_cast<std::size_t>(count));
    for (int i = 0; i < count; ++i)
        points.push_back(count == 1 ? most : 1 + (i * (most - 1) + (count - 1) / 2) / (count - 1));
    return points;
}

EffortPoint point_at(int dates, const PairTest& test, const DateMeans& means, double level,
                     int resamples, Random& random) {
    std::vector<double> widths, differences;
    for (int s = 0; s < resamples; ++s) {
        std::vector<double> values;
        for (const std::vector<double>& site : means)
            values.push_back(resampled_mean(site, dates, random));
        const TestResult result = test.test(values, level);
        widths.push_back(result.ci_high - result.ci_low);
        differences.push_back(result.difference);
    }
    return {dates,
            quantile(widths, 0.5),
            quantile(widths, 0.25),
            quantile(widths, 0.75),
            quantile(differences, 0.25),
            quantile(differences, 0.75)};
}

}  // namespace

std::vector<EffortPoint> effort_curve(std::span<const DateValue> values, const ContrastPlan& plan,
                                      int resamples) {
    const Nights nights = nights_of(values, plan);
    std::map<std::string, std::vector<double>> means_of;
    std::vector<Unit> units;
    for (const SiteNights& site : nights.sites) {
        units.push_back(site.unit);
        for (const DateValue& date : site.dates) means_of[site.unit.site].push_back(date.mean);
    }
    const std::vector<std::string> classes{plan.class_a, plan.class_b};
    const ReadyUnits ready = ready_units(units, classes);
    if (ready.counts[0] < 2 || ready.counts[1] < 2) return {};

    DateMeans means;
    std::size_t most = 0;
    for (const Unit& unit : ready.units) {
        means.push_back(means_of[unit.site]);
        most = std::max(most, means.back().size());
    }
    const PairTest test(ready.layout, plan.seed, kResampleLimits);
    Random random(plan.seed, "effort");
    std::vector<EffortPoint> curve;
    for (const int dates : points_up_to(static_cast<int>(most)))
        curve.push_back(point_at(dates, test, means, plan.level, resamples, random));
    return curve;
}

TableOf<EffortRow> effort_table() {
    using Row = EffortRow;
    const auto of = [](double EffortPoint::*member) {
        return [member](const Row& row) { return row.point.*member; };
    };
    return TableOf<Row>("effort.csv", "effort curves",
                        "A row is an index, a window and a number of dates kept.")
        .column("index", "", "column of the tables that is compared", &Row::index)
        .column("window", "", "named part of the day", &Row::window)
        .column("dates", "1", "dates kept at each site",
                [](const Row& row) { return row.point.dates; })
        .column("width_median", "", "median width of the interval over resamples; INF: unbounded",
                of(&EffortPoint::width_median))
        .column("width_low", "", "lower quartile of it", of(&EffortPoint::width_low))
        .column("width_high", "", "upper quartile of it", of(&EffortPoint::width_high))
        .column("difference_low", "", "lower quartile of the difference over resamples",
                of(&EffortPoint::difference_low))
        .column("difference_high", "", "upper quartile of it", of(&EffortPoint::difference_high));
}

}  // namespace hearwood
