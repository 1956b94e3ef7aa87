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

/// Variances by the method of moments from the two-way model of site and date (of balanced data:
/// its analysis of variance); negative estimates are set to 0.
struct VarianceComponents {
    double between_sites = kMissing;  ///< within a class (and block)
    double site_by_date = kMissing;   ///< of a site's nights about what dates did everywhere
    double within_date = kMissing;    ///< between segments of a date; NaN when not known
    double dates_per_site = 0, segments_per_date = 0;  ///< harmonic means
    int sites_a = 0, sites_b = 0;
    int blocks = 0;
    double information = 0;         ///< sum over blocks of nA nB / (nA + nB)
    double site_values = kMissing;  ///< residual mean square of site values about class and block
    double nights = kMissing;       ///< residual mean square of nights about site and date

    /// Expected width of the interval (t interval of the class effect) with so many times the
    /// sites, and so many times the dates a site. NaN where it cannot be told.
    double width(double times_sites, double times_dates, double level) const;
};

VarianceComponents variance_components(std::span<const DateValue> values, const ContrastPlan& plan);

/// The contrast of these sites is bounded, and its exact interval is 1/1.25 to 1/0.8 times as wide
/// as the expected one: only then do the widths foretell anything.
bool can_advise(const VarianceComponents& components, const ContrastRow& row);

/// Sentences on the next season: which of more sites and more nights narrows the interval of this
/// contrast, and by how much; or why nothing is advised.
std::string next_season(const VarianceComponents& components, const ContrastRow& row);

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
    bool advise = false;  ///< can_advise(): else the widths are left empty
};
/// Widths are those of intervals at `level`.
TableOf<VarianceRow> variance_table(double level);
std::string variance_csv(std::span<const VarianceRow> rows, double level);

struct EffortRow {
    std::string index, window;
    EffortPoint point;
};
TableOf<EffortRow> effort_table();

// Nights of sites under the two-way model of site and date: y = m + site + date + e. What dates did
// everywhere is no noise of a site and narrows nothing when there are more of them; the residual
// is. Internal to this folder.

struct SiteNights {
    Unit unit;                     ///< with the site's value
    std::vector<DateValue> dates;  ///< sorted; `mean` is the site's value plus the date's residual
};

struct Nights {
    std::vector<SiteNights> sites;  ///< of the two classes, sorted by name; those comparable
    double squares = 0;             ///< of the residuals
    double freedom = 0;             ///< theirs: nights - sites - dates + 1
};

/// Dates without a value are left out.
Nights nights_of(std::span<const DateValue> values, const ContrastPlan& plan);

}  // namespace hearwood
