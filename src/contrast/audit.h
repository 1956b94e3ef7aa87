// Audit of the design: could something other than the stand explain a difference between the
// classes?
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/finding.h"
#include "contrast/contrast.h"

namespace hearwood {

/// What the audit knows of a site; whoever fills it takes the sheets and, when there are any, the
/// segments. Unknown numbers are NaN, unknown texts empty.
struct AuditSite {
    std::string site, stand, block, trail;
    double latitude = kMissing, longitude = kMissing;  ///< degrees
    double elevation_m = kMissing;
    std::vector<std::string> recorders;       ///< of its deployments
    std::vector<double> gains_db, heights_m;  ///< of its deployments, those known
    std::string first_date, last_date;        ///< ISO local dates of deployments or recordings;
                                              ///< both known or both empty
    std::array<double, 24> hour_minutes{};    ///< minutes kept per local hour; all 0: not known yet
    double noise_floor_dbfs =
        kMissing;  ///< quiet level of its recorder, e.g. the lowest tenth of l90_dbfs
    std::vector<double> sample_rates_hz;
};

/// Another numeric column of the sheets, a value a site (parallel to the sites).
struct AuditColumn {
    std::string name;
    std::vector<double> values;
};

struct AuditSettings {
    std::string class_a, class_b;
    double listening_distance_m = 250;  ///< two sites within it hear the same animals
    double floor_difference_db = 3;     ///< floors that differ more between classes are a finding
    std::uint64_t seed = 1;
};

/// Findings, the worst first. `gain_indices` names the indices that depend on gain, for the
/// sentences.
std::vector<Finding> audit_design(std::span<const AuditSite> sites,
                                  std::span<const AuditColumn> columns,
                                  std::span<const std::string> gain_indices,
                                  const AuditSettings& settings);

/// Great-circle distance in metres (haversine, mean radius 6,371,008.8 m).
double distance_m(double latitude_1, double longitude_1, double latitude_2, double longitude_2);

/// Whether what was found could make a difference between the classes: printed with every contrast.
bool can_explain(FindingCode code);

}  // namespace hearwood
