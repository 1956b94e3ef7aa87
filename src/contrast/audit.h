// Audit of the design: could something other than the stand explain a difference between the
// classes? What has a number is judged by the size of its difference, not by a p
// (docs/statistics.md, section 6).
#pragma once

#include <array>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "base/finding.h"
#include "base/missing.h"
#include "base/table.h"
#include "contrast/contrast.h"
#include "survey/geography.h"

namespace hearwood {

/// What the audit knows of a site; whoever fills it takes the sheets and, when there are any, the
/// segments. Unknown numbers are NaN, unknown texts and lists empty.
struct AuditSite {
    std::string site, stand, block, trail;
    double latitude = kMissing, longitude = kMissing;  ///< degrees
    std::vector<std::string> recorders;                ///< of its deployments
    std::vector<std::string> dates;  ///< ISO local dates with recordings, ascending, each once
    std::array<double, 24> hour_minutes{};  ///< minutes kept per local hour; all 0: not known yet
    double noise_floor_dbfs =
        kMissing;  ///< quiet level of its recorder, e.g. the lowest tenth of l90_dbfs
    std::vector<double> sample_rates_hz;
    /// Windows in which the site's value is more of a forecast than of a record (`leans` from 2
    /// on), with that number, and in which it has none for want of dates and times that others
    /// have.
    std::vector<std::pair<std::string, double>> leaning;
    std::vector<std::string> incomparable;
    /// The longest time without a date of recordings, where no seasons are named; ISO local dates.
    int gap_days = 0;
    std::string gap_from, gap_to;
};

/// A number of every site, parallel to the sites; one that several deployments give is averaged
/// over the site first.
struct AuditNumber {
    enum class Kind { column, gain, height, elevation, level, background };
    std::string name;  ///< a column of the sheets, "l90_dbfs", "background 1000 to 1250 Hz"
    std::string unit;  ///< "dB"; empty: none
    Kind kind = Kind::column;
    bool part_of_stand = false;  ///< what makes the stand: shown, never a doubt
    std::vector<double> values;
};

struct AuditSettings {
    std::string class_a, class_b;
    double listening_distance_m = 250;  ///< two sites within it hear the same animals
    double odd_floor_db = 6;            ///< one site's floor so far from the median is a finding
};

/// From these sizes on a standardised difference is a doubt, and serious.
inline constexpr double kDoubtfulSize = 0.5, kSeriousSize = 1;

/// A row of audit.csv: a number beside the classes.
struct AuditRow {
    std::string name, unit, class_a, class_b;
    int n_a = 0, n_b = 0;                         ///< sites with a value that took part
    double mean_a = kMissing, mean_b = kMissing;  ///< plain means
    double difference = kMissing;                 ///< A minus B within blocks, as in a contrast
    /// difference / residual standard deviation within class and block; INF where there is none
    /// left and the classes differ; NaN below 2 sites of a class or without a degree of freedom.
    double standardised = kMissing;
    bool part_of_stand = false;
    Severity severity() const;  ///< note below kDoubtfulSize, and for what makes the stand
};
TableOf<AuditRow> audit_table();

struct Audit {
    std::vector<Finding> findings;  ///< the worst first
    std::vector<AuditRow> numbers;  ///< in the order given
    std::string looked_at;          ///< a sentence: what was held against the classes
};

Audit audit_design(std::span<const AuditSite> sites, std::span<const AuditNumber> numbers,
                   const AuditSettings& settings);

/// What no audit of the sheets and sounds can see, a sentence.
std::string unseen_by_audit();

/// What goes along with the stand, for a sentence: "elevation", "the recorders' gain", a column's
/// name; empty for findings that name nothing of the kind.
std::string confounder_of(const Finding& finding);
/// The first serious finding with a confounder; null when there is none. REQUIRES: the worst first.
const Finding* worst_explanation(std::span<const Finding> findings);

/// Whether what was found could make a difference between the classes: printed with every contrast.
bool can_explain(FindingCode code);

/// Groups of two or more sites of one class and block that lie nearer than the distance, directly
/// or by way of others. Site names in the order given.
std::vector<std::vector<std::string>> nearby_groups(std::span<const AuditSite> sites,
                                                    double metres);

/// The units with each group replaced by one, named "a + b", whose value is the mean of those its
/// sites have.
std::vector<Unit> with_groups_as_one(std::span<const Unit> units,
                                     std::span<const std::vector<std::string>> groups);

}  // namespace hearwood
