// Averages by site: over the kept, complete segments of a site, date and part of the day, then over
// dates (docs/measures.md, section 4). One streaming pass over the store; memory grows with sites x
// dates x parts, not with segments.
//
// A part is an hour of the local clock (0..23), a window (place in SiteValues::windows), or a step
// of kStepMinutes from sunrise: step i holds midpoints in [i, i + 1) * kStepMinutes minutes after
// sunrise, i may be negative; only kFirstStep <= i < kEndStep are kept.
//
// Order of averaging: segments of one recorder's channel, then the channels and recorders of the
// site, then dates. A missing value (NaN) takes no part in a mean; a mean of nothing is NaN.
#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

#include "aggregate/placement.h"
#include "index/catalogue.h"
#include "survey/survey.h"

namespace hearwood {

class Store;

inline constexpr int kStepMinutes = 5;
inline constexpr int kFirstStep = -36;  ///< three hours before sunrise
inline constexpr int kEndStep = 60;     ///< five hours after it

/// Mean of one site, date and part.
struct DateMean {
    std::size_t site = 0;  ///< into Survey::sites
    Date date{};
    int part = 0;
    int kept = 0;                ///< complete segments (of a channel) that were kept
    int possible = 0;            ///< complete segments recorded there, kept or not
    std::vector<double> values;  ///< parallel to SiteValues::columns
    /// Windows only: variance (n - 1) of the kept segments within the date, pooled over the
    /// recorders' channels; NaN below two segments. Parallel to `values`; empty for hours and
    /// steps.
    std::vector<double> variances;
};

/// Mean over dates of one site and part: the site's value.
struct SiteMean {
    std::size_t site = 0;
    int part = 0;
    int dates = 0;               ///< dates with at least one kept segment
    int kept = 0, possible = 0;  ///< summed over dates
    std::vector<double> values;
};

/// What the recordings of one deployment say about its recorder.
struct DeploymentSound {
    std::size_t deployment = 0;  ///< into Survey::deployments
    int kept = 0, possible = 0;
    double quiet_level_dbfs =
        0;  ///< 5 % quantile of l90_dbfs over complete segments inside; NaN: none
    std::vector<int> hours_kept;       ///< 24 counts of kept segments by local hour
    bool any = false;                  ///< at least one segment inside
    Date first{}, last{};              ///< dates with segments inside
    std::vector<double> sample_rates;  ///< Hz, ascending, each once
};

/// A screen that flags nearly all of a site: a question for the user, not an exclusion.
struct FlaggedShare {
    std::size_t site = 0;
    std::string reason;
    int flagged = 0, possible = 0;  ///< complete segments inside the deployment
    bool excludes = false;
};

struct SiteValues {
    std::vector<Column>
        columns;  ///< the averaged ones: indices and levels, *_dbspl twins among them
    std::vector<std::string> windows;  ///< names, as Survey::windows
    // Each ordered by site, (date,) part.
    std::vector<DateMean> site_hours, site_windows, site_steps;
    std::vector<SiteMean> hours, window_means, steps;
    std::vector<std::vector<double>>
        sample_rates;  ///< of each site's kept segments: Hz, ascending, each once
    std::vector<DeploymentSound> deployments;  ///< parallel to Survey::deployments
    std::vector<FlaggedShare> flagged;  ///< every site and reason with a flag, by site, then reason

    /// Place in `columns`; -1 when there is none of that name.
    int column(const std::string& name) const;
};

/// Errors: InputError when segments were measured under other settings, or some are not measured
/// yet and none at all is (says what to run); MachineError from the store.
SiteValues compute_site_values(const Survey& survey, const Store& store);

/// The columns of segments.csv that are averaged under these settings: indices and levels, then,
/// when any deployment is calibrated, the level's twin directly after it.
std::vector<Column> averaged_columns(const Survey& survey);

/// The value of a site in a part, from means ordered as above; NaN where there is none.
double site_value(const std::vector<SiteMean>& means, std::size_t site, int part, int column);

/// Sites (at least two rates between them) whose kept segments do not share one sample rate, as one
/// problem each that says which sites have which rate and what to do; empty when all is well. Only
/// sites of the two classes compared count.
std::vector<Problem> mixed_sample_rates(const Survey& survey, const SiteValues& values);

/// Screens that flag more than `share` of a site's segments, as questions.
std::vector<Problem> questions_of_screens(const Survey& survey, const SiteValues& values,
                                          double share = 0.8);

}  // namespace hearwood
