// Dates and hours of the day: what share of them both classes have.
#include <fmt/core.h>

#include <algorithm>
#include <set>

#include "base/text.h"
#include "contrast/audit_checks.h"

namespace hearwood {

namespace {

/// Below half of them shared a difference of dates or hours can explain all, below nine tenths a
/// part; what is left over is worth knowing.
constexpr double kHalf = 0.5, kMost = 0.9;

/// How many pairs of a site and a date (or an hour) there are, and in how many both classes have
/// that date.
struct Overlap {
    int pairs = 0, shared = 0;
    bool known = false;  ///< both classes have any
    double share() const { return pairs > 0 ? static_cast<double>(shared) / pairs : 1; }
};

template <class Thing, class Of>
Overlap overlap_of(const AuditInput& input, const Of& things_of) {
    std::set<Thing> a, b;
    for (const AuditSite& site : input.sites)
        for (const Thing& thing : things_of(site)) (input.is_a(site) ? a : b).insert(thing);
    Overlap overlap;
    overlap.known = !a.empty() && !b.empty();
    for (const AuditSite& site : input.sites)
        for (const Thing& thing : things_of(site)) {
            ++overlap.pairs;
            overlap.shared += a.contains(thing) && b.contains(thing);
        }
    return overlap;
}

Overlap overlap_of_dates(const AuditInput& input) {
    return overlap_of<std::string>(input, [](const AuditSite& site) { return site.dates; });
}

std::vector<int> hours_of(const AuditSite& site) {
    std::vector<int> hours;
    for (int hour = 0; hour < 24; ++hour)
        if (site.hour_minutes[static_cast<std::size_t>(hour)] > 0) hours.push_back(hour);
    return hours;
}

Overlap overlap_of_hours(const AuditInput& input) {
    return overlap_of<int>(input, hours_of);
}

Severity severity_of(const Overlap& overlap) {
    return overlap.share() < kHalf   ? Severity::serious
           : overlap.share() < kMost ? Severity::doubt
                                     : Severity::note;
}

std::string share_text(const Overlap& overlap) {
    return fmt::format("{} of {}", grouped(overlap.shared), grouped(overlap.pairs));
}

/// "Both classes have the dates of 40 of 80 site-dates and the hours of 96 of 96 site-hours."
std::string both_overlaps(const AuditInput& input) {
    const Overlap dates = overlap_of_dates(input), hours = overlap_of_hours(input);
    std::string text =
        "Both classes were recorded on the dates of " + share_text(dates) + " site-dates";
    if (hours.known) text += " and in the hours of " + share_text(hours) + " site-hours";
    return text + ".";
}

/// First and last date of a class.
std::string span_of(const AuditInput& input, bool of_a) {
    std::string first, last;  // ISO dates order as text
    for (const AuditSite& site : input.sites) {
        if (site.dates.empty() || input.is_a(site) != of_a) continue;
        if (first.empty() || site.dates.front() < first) first = site.dates.front();
        last = std::max(last, site.dates.back());
    }
    return first + " to " + last;
}

/// Minutes a site with any, hour by hour.
struct MinutesByHour {
    std::array<double, 24> a{}, b{};
};

MinutesByHour minutes_by_hour(const AuditInput& input) {
    MinutesByHour minutes;
    int sites_a = 0, sites_b = 0;
    for (const AuditSite& site : input.sites) {
        if (hours_of(site).empty()) continue;
        ++(input.is_a(site) ? sites_a : sites_b);
        auto& sums = input.is_a(site) ? minutes.a : minutes.b;
        for (std::size_t hour = 0; hour < 24; ++hour) sums[hour] += site.hour_minutes[hour];
    }
    for (std::size_t hour = 0; hour < 24; ++hour) {
        minutes.a[hour] /= std::max(sites_a, 1);
        minutes.b[hour] /= std::max(sites_b, 1);
    }
    return minutes;
}

}  // namespace

void check_dates(const AuditInput& input, std::vector<Finding>& findings) {
    const Overlap dates = overlap_of_dates(input);
    if (!dates.known || dates.shared == dates.pairs) return;
    findings.push_back(
        {severity_of(dates),
         FindingCode::dates,
         {},
         fmt::format("{} sites were recorded from {}, {} sites from {}. {} Weather and season of "
                     "the other dates can explain {} of a difference.",
                     input.settings.class_a, span_of(input, true), input.settings.class_b,
                     span_of(input, false), both_overlaps(input),
                     dates.shared == 0 ? "all" : "a part"),
         "Record both classes on the same dates; until then keep only the dates they share."});
}

void check_hours(const AuditInput& input, std::vector<Finding>& findings) {
    const Overlap overlap = overlap_of_hours(input);
    if (!overlap.known) return;
    const MinutesByHour minutes = minutes_by_hour(input);
    std::vector<std::string> missing, thin;
    for (std::size_t hour = 0; hour < 24; ++hour) {
        const double of_a = minutes.a[hour], of_b = minutes.b[hour];
        if ((of_a == 0) != (of_b == 0))
            missing.push_back(fmt::format("{:02}", hour));
        else if (std::max(of_a, of_b) > 2 * std::min(of_a, of_b))
            thin.push_back(fmt::format("{:02}", hour));
    }
    if (!missing.empty())
        findings.push_back(
            {severity_of(overlap),
             FindingCode::hours,
             {},
             fmt::format("Only one of the classes has recordings in the hours {}. {} A window that "
                         "spans other hours in one class than in the other compares hours.",
                         join(missing, ", "), both_overlaps(input)),
             "Record the same schedule everywhere, or choose windows that both classes fill."});
    if (!thin.empty())
        findings.push_back(
            {Severity::note,
             FindingCode::thin_hours,
             {},
             "One class has less than half as many kept minutes a site as the other in the hours " +
                 join(thin, ", ") +
                 ". If what was left out is not like what was kept (rain, say), the means lean.",
             "See coverage.csv for what was left out and why."});
}

}  // namespace hearwood
