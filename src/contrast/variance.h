// Enough? Where the spread of site values comes from, and what more sites or more nights would
// bring.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "contrast/contrast.h"

namespace hearwood {

/// A site's date in one window: what its kept segments say of an index.
struct DateValue {
    std::string site, stand, block, date;
    int segments = 0;
    double mean = kMissing;
    double variance = kMissing;  ///< of the segments (n - 1); NaN when fewer than 2 or not known
};

/// Variances by the method of moments from unweighted means (nested analysis of variance when
/// balanced); negative estimates are set to 0.
struct VarianceComponents {
    double between_sites = kMissing;  ///< within a class (and block)
    double between_dates = kMissing;  ///< within a site
    double within_date = kMissing;    ///< between segments of a date; NaN when not known
    double dates_per_site = 0, segments_per_date = 0;  ///< harmonic means
    int sites_a = 0, sites_b = 0;
    /// Of a site value with D dates of m segments: between_sites + (between_dates + within_date /
    /// m) / D.
    double of_site_value(double dates, double segments) const;
};

VarianceComponents variance_components(std::span<const DateValue> values, const ContrastPlan& plan);

/// Expected width of the interval (t interval with the same variance) with n sites a class and D
/// dates a site.
double expected_width(const VarianceComponents& components, double sites_per_class, double dates,
                      double level);

/// Sentences on the next season: which of more sites and more nights narrows the interval, and by
/// how much.
std::string next_season(const VarianceComponents& components, double level);

/// One point of an effort curve: dates kept a site against width of the interval, over resamples.
struct EffortPoint {
    int dates = 0;
    double width_median = kMissing, width_low = kMissing,
           width_high = kMissing;                                  ///< quartiles; inf: unbounded
    double difference_low = kMissing, difference_high = kMissing;  ///< quartiles of the estimate
};

/// Dates drawn without replacement within each site (all of a site's dates where it has fewer),
/// `resamples` times, with the plan's seed.
std::vector<EffortPoint> effort_curve(std::span<const DateValue> values, const ContrastPlan& plan,
                                      int resamples = 100);

struct VarianceRow {
    std::string index, window;
    VarianceComponents components;
};
/// Widths are those of intervals at `level`.
TableOf<VarianceRow> variance_table(double level);
std::string variance_csv(std::span<const VarianceRow> rows, double level);

struct EffortRow {
    std::string index, window;
    EffortPoint point;
};
TableOf<EffortRow> effort_table();
std::string effort_csv(std::span<const EffortRow> rows);

}  // namespace hearwood
