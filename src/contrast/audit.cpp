// Each check looks at one way in which the classes may differ besides the stand. A site counts
// once; a number that several deployments give is averaged over the site first.
#include "contrast/audit.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "base/missing.h"
#include "base/text.h"
#include "contrast/audit_checks.h"
#include "statistics/quantile.h"

namespace hearwood {

namespace {

double mean_of(const std::vector<double>& values) {
    double sum = 0;
    for (const double value : values) sum += value;
    return values.empty() ? kMissing : sum / static_cast<double>(values.size());
}

/// A number of every site, tested between the classes like an outcome.
struct NumberCheck {
    FindingCode code;
    std::string name;      ///< in sentences: "gain"
    std::string unit;      ///< " dB"
    double matters;        ///< smaller differences between classes are no finding
    std::string explains;  ///< how it could make a difference
    std::string fix;
};

ContrastRow tested(const AuditInput& input, const std::vector<double>& values) {
    std::vector<Unit> units;
    for (std::size_t i = 0; i < input.sites.size(); ++i)
        units.push_back({input.sites[i].site, input.sites[i].stand, "", values[i]});
    ContrastPlan plan;
    plan.class_a = input.settings.class_a;
    plan.class_b = input.settings.class_b;
    plan.seed = input.settings.seed;
    return contrast_units(units, plan);
}

/// The classes share no value: every site of one lies above every site of the other.
bool separated(const ContrastRow& row) {
    return std::abs(row.cliffs_delta) == 1;
}

void check_number(const AuditInput& input, const std::vector<double>& values,
                  const NumberCheck& check, std::vector<Finding>& findings) {
    const ContrastRow row = tested(input, values);
    if (!row.tested() || std::abs(row.difference) <= check.matters) return;
    const bool apart = separated(row), likely = row.p <= 0.05 + 1e-12;
    if (!apart && !likely) return;
    const std::string how_bad =
        apart ? fmt::format("No {} site has a value in the range of the {} sites, so {}.",
                            row.class_a, row.class_b, check.explains)
              : fmt::format("The classes differ in it (exact p = {}), so {}.",
                            readable_number(row.p), check.explains);
    findings.push_back(
        {apart ? Severity::serious : Severity::doubt,
         check.code,
         {},
         fmt::format("{} is {}{} at {} and {}{} at {} sites on average. {}", check.name,
                     readable_number(row.mean_a), check.unit, row.class_a,
                     readable_number(row.mean_b), check.unit, row.class_b, how_bad),
         check.fix});
}

std::string gain_sentence(std::span<const std::string> indices) {
    return indices.empty() ? "every index that depends on gain can differ for that alone"
                           : "indices that depend on gain (" + join(indices, ", ") +
                                 ") can differ for that alone";
}

/// The user's own columns: many of them describe what makes the stand, which is no flaw of the
/// design.
void check_columns(const AuditInput& input, std::vector<Finding>& findings) {
    std::vector<std::string> apart;
    for (const AuditColumn& column : input.columns) {
        const ContrastRow row = tested(input, column.values);
        if (row.tested() && separated(row)) apart.push_back(column.name);
    }
    if (apart.empty()) return;
    const bool one = apart.size() == 1;
    findings.push_back(
        {Severity::note, FindingCode::column, Subject::column(join(apart, ", ")),
         fmt::format("{} not overlap between the classes. A difference may belong to {}, unless {} "
                     "part of what makes the stand.",
                     one ? "Its values do" : "Their values do", one ? "it" : "any of them",
                     one ? "it is" : "they are"),
         "Say which it is; covariates.csv has the rank correlations."});
}

void check_numbers(const AuditInput& input, std::vector<Finding>& findings) {
    const auto of_sites = [&](auto value) {
        std::vector<double> values;
        for (const AuditSite& site : input.sites) values.push_back(value(site));
        return values;
    };
    const std::string by_gain = gain_sentence(input.gain_indices);
    check_number(input, of_sites([](const AuditSite& s) { return mean_of(s.gains_db); }),
                 {FindingCode::gain, "Recorder gain", " dB", 0.1, by_gain,
                  "Compare only indices that do not depend on gain, or set equal gains next time."},
                 findings);
    check_number(
        input, of_sites([](const AuditSite& s) { return s.noise_floor_dbfs; }),
        {FindingCode::noise_floor, "The quietest level of the recorders", " dBFS",
         input.settings.floor_difference_db,
         "a less sensitive or a noisier microphone in one class would look like a quieter or a "
         "busier forest",
         "Swap recorders between classes, or record one sound with all recorders side by side."},
        findings);
    check_number(input, of_sites([](const AuditSite& s) { return mean_of(s.heights_m); }),
                 {FindingCode::height, "Recorder height", " m", 0.1,
                  "what a recorder hears at its height and the stand cannot be told apart",
                  "Mount recorders of all classes at one height."},
                 findings);
    check_number(
        input, of_sites([](const AuditSite& s) { return s.elevation_m; }),
        {FindingCode::elevation, "Elevation", " m", 10,
         "a difference may belong to elevation rather than to the stand",
         "Say so beside the result, and look for sites of both classes at similar elevations."},
        findings);
}

/// One microphone or setting that stands out by itself, whatever its class.
void check_floor_of_one(const AuditInput& input, std::vector<Finding>& findings) {
    std::vector<double> floors;
    for (const AuditSite& site : input.sites)
        if (!is_missing(site.noise_floor_dbfs)) floors.push_back(site.noise_floor_dbfs);
    if (floors.size() < 4) return;
    const double middle = median(floors);
    const double limit = 2 * input.settings.floor_difference_db;
    std::vector<std::pair<double, std::string>> far;  // the furthest first
    for (const AuditSite& site : input.sites)
        if (const double off = site.noise_floor_dbfs - middle; std::abs(off) > limit)
            far.emplace_back(off, site.site);
    std::stable_sort(far.begin(), far.end(), [](const auto& a, const auto& b) {
        return std::abs(a.first) > std::abs(b.first);
    });
    for (const auto& [off, site] : far) {
        findings.push_back(
            {Severity::doubt, FindingCode::odd_floor, Subject::site(site),
             fmt::format("Its quietest level is {} dB {} the median of all sites. {}",
                         readable_number(std::abs(off)), off < 0 ? "below" : "above",
                         off < 0 ? "A dead or deaf microphone looks like a quiet forest."
                                 : "A stream, a generator or a noisy recorder looks like "
                                   "activity."),
             "Listen to a minute of it, and run the contrast without this site."});
    }
}

}  // namespace

std::vector<Finding> audit_design(std::span<const AuditSite> sites,
                                  std::span<const AuditColumn> columns,
                                  std::span<const std::string> gain_indices,
                                  const AuditSettings& settings) {
    AuditInput input{{}, {}, gain_indices, settings};
    std::vector<std::size_t> places;
    for (std::size_t i = 0; i < sites.size(); ++i) {
        if (sites[i].stand != settings.class_a && sites[i].stand != settings.class_b) continue;
        input.sites.push_back(sites[i]);
        places.push_back(i);
    }
    for (const AuditColumn& column : columns) {
        AuditColumn kept{column.name, {}};
        for (const std::size_t place : places) kept.values.push_back(column.values[place]);
        input.columns.push_back(kept);
    }
    std::vector<Finding> findings;
    check_blocks(input, findings);
    check_recorders(input, findings);
    check_rates(input, findings);
    check_dates(input, findings);
    check_hours(input, findings);
    check_trails(input, findings);
    check_distances(input, findings);
    check_numbers(input, findings);
    check_columns(input, findings);
    check_floor_of_one(input, findings);
    worst_first(findings);
    return findings;
}

bool can_explain(FindingCode code) {
    return code != FindingCode::one_class_blocks && code != FindingCode::own_recorders &&
           code != FindingCode::other_class_near;
}

}  // namespace hearwood
