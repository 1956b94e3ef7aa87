// Averages by site: over the kept, complete segments of a site, date and part of the day, and the
// values of sites over dates (docs/tables.md). One streaming pass over the store; memory grows with
// sites x dates x parts, not with segments.
//
// A part is an hour of the local clock (0..23), a window (place in SiteValues::windows), or a step
// of kStepMinutes from sunrise: step i holds midpoints in [i, i + 1) * kStepMinutes minutes after
// sunrise, i may be negative; only kFirstStep <= i < kEndStep are kept.
//
// Order of averaging: segments of one recorder's channel, then the channels and recorders of the
// site, then dates. A missing value (NaN) takes no part in a mean; a mean of nothing is NaN.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "aggregate/applied_steps.h"
#include "aggregate/placement.h"
#include "aggregate/same_sound.h"
#include "base/finding.h"
#include "base/missing.h"
#include "index/catalogue.h"
#include "survey/survey.h"

namespace hearwood {

class Store;
class JudgedSegments;

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
    /// Windows only: the site's value plus the mean residual of the date's quarters; what the date
    /// did at all sites, and which quarters it has, is taken off. Parallel to `values`.
    std::vector<double> adjusted;
};

/// The value of one site and part. Of windows and hours by the additive model of site, date and
/// quarter of an hour (of hours: site and date), so that sites recorded at other times compare; of
/// steps the plain mean over dates.
struct SiteMean {
    std::size_t site = 0;
    int part = 0;
    int dates = 0;               ///< dates with at least one kept segment
    int kept = 0, possible = 0;  ///< summed over dates
    std::vector<double> values;  ///< NaN where the site cannot be compared with the others
    // Of the design (statistics/additive_model.h), whatever the values; not of steps.
    int cells = 0;            ///< quarters (hours: dates) with a kept segment
    bool comparable = false;  ///< in the largest group of sites that can be compared
    double leans = kMissing;
};

/// What the recordings of one deployment say about its recorder.
struct DeploymentSound {
    int kept = 0, possible = 0;  ///< complete segments
    /// Lowest tenth (quantile) of l90_dbfs over kept segments, to 0.1 dB; NaN: none. What is heard
    /// in the quietest minutes is the recorder's own noise floor, or the forest's.
    double quiet_level_dbfs = 0;
    std::array<double, 24> hour_minutes{};  ///< kept minutes by local hour, averaged over channels
    Date first{}, last{};              ///< dates with possible segments; meaningless without any
    std::vector<Date> dates;           ///< with kept segments, ascending, each once
    std::vector<double> sample_rates;  ///< of kept segments: Hz, ascending, each once
};

/// How often one screen fired at a site, over complete segments inside the deployments.
struct FlaggedShare {
    std::size_t site = 0;
    std::string reason;
    std::int64_t flagged = 0, segments = 0;
    bool question = false;  ///< so often that it did not exclude: a question for the user
};

/// Complete segments of a site, inside the deployments, in which rain and engines could not be
/// looked for.
struct WeatherUnknown {
    std::size_t site = 0;
    std::int64_t unknown = 0, segments = 0;
};

/// Values of sites from the recordings of one season alone (column `season` of deployments.csv).
struct SeasonMeans {
    std::string name;
    std::vector<SiteMean> window_means;  ///< by site, window; values and design, no effort
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
    std::vector<SeasonMeans> seasons;          ///< by the first date recorded; empty unless several
    std::vector<FlaggedShare> flagged;  ///< every site and reason with a flag, by site, reason
    std::vector<WeatherUnknown> weather_unknown;  ///< sites with any, in their order
    std::vector<SameSound> same_sounds;           ///< neither site of a pair has kept segments
    std::vector<Finding> evidence;                ///< of the cards (card_evidence.h)
    std::vector<double> l90_dbfs;      ///< by site: median over kept segments, to 0.1 dB; NaN: none
    std::vector<AppliedStep> applied;  ///< decisions and automatic steps, as they applied
    /// [site][band of 250 Hz]: median over kept segments of the background's level as recorded,
    /// dBFS of E (docs/measures.md, section 6), in half decibels; NaN: none.
    std::vector<std::vector<double>> background_db;
    std::size_t segments = 0, kept = 0;  ///< rows of segments.csv; those that enter averages
    std::size_t not_measured = 0;        ///< recordings known but not measured yet
    std::size_t old_even = 0;  ///< kept segments whose values on even terms are old or not there
    std::string beside_even;   ///< a sentence that belongs beside every value on even terms

    /// Index into `columns`; -1 when there is none of that name.
    int column(const std::string& name) const;
};

/// Errors: as JudgedSegments (nothing measured, other settings: says what to run); MachineError.
SiteValues compute_site_values(const Survey& survey, const Store& store);
/// The same where the segments are judged already.
SiteValues compute_site_values(const Survey& survey, const Store& store,
                               const JudgedSegments& segments);

/// The value of a site in a part, from means ordered as above; NaN where there is none.
double site_value(const std::vector<SiteMean>& means, std::size_t site, int part, int column);

/// One finding, serious, when the sites of the two classes compared do not share one sample rate:
/// an index of frames of 512 samples is another quantity at another rate. It says which sites have
/// which rate, and the fix.
std::vector<Finding> mixed_sample_rates(const Survey& survey, const SiteValues& values);

/// Of all sites' kept segments, Hz; 0 without any.
int lowest_rate_of(const SiteValues& values);

/// What the user should know of the screens, as doubts: those that fire on nearly all of a site
/// ([screen].often_share), which says more about the place than about the weather, and were not
/// excluded there; and the sites where on most segments rain and engines could not be looked for.
std::vector<Finding> questions_of_screens(const Survey& survey, const SiteValues& values);

}  // namespace hearwood
