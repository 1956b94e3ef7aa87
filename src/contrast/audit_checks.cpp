#include "contrast/audit_checks.h"

#include <fmt/core.h>

#include <algorithm>
#include <map>
#include <set>

#include "base/text.h"

namespace hearwood {

namespace {

/// Which of the two classes something has been seen with, and at how many sites.
struct Seen {
    int a = 0, b = 0;
    bool one_class() const { return (a == 0) != (b == 0); }
};

using SeenByName = std::map<std::string, Seen>;

void see(SeenByName& seen, const std::string& name, bool is_a) {
    Seen& entry = seen[name];
    ++(is_a ? entry.a : entry.b);
}

std::vector<std::string> names_of_one_class(const SeenByName& seen) {
    std::vector<std::string> names;
    for (const auto& [name, entry] : seen)
        if (entry.one_class()) names.push_back(name);
    return names;
}

}  // namespace

void check_blocks(const AuditInput& input, std::vector<Finding>& findings) {
    SeenByName seen;
    for (const AuditSite& site : input.sites)
        if (!site.block.empty()) see(seen, site.block, input.is_a(site));
    const std::vector<std::string> single = names_of_one_class(seen);
    if (single.empty()) return;
    constexpr FindingCode kCode = FindingCode::one_class_blocks;
    if (single.size() == seen.size())
        findings.push_back(
            {Severity::serious,
             kCode,
             {},
             "Every block holds sites of one class only. Block and stand cannot be told apart, and "
             "nothing can be tested within blocks.",
             "Add sites of the other class in each block, or name no block and say why."});
    else
        findings.push_back({Severity::note,
                            kCode,
                            {},
                            (single.size() == 1 ? "Block " : "Blocks ") + join(single, ", ") +
                                (single.size() == 1 ? " holds" : " hold") +
                                " sites of one class only. Such sites drop out of every contrast.",
                            "Add a site of the other class there."});
}

void check_recorders(const AuditInput& input, std::vector<Finding>& findings) {
    SeenByName seen;
    for (const AuditSite& site : input.sites)
        for (const std::string& recorder :
             std::set<std::string>(site.recorders.begin(), site.recorders.end()))
            if (!recorder.empty()) see(seen, recorder, input.is_a(site));
    int shared = 0, shared_by_one_class = 0;
    for (const auto& [recorder, entry] : seen) {
        if (entry.a + entry.b < 2) continue;
        ++shared;
        shared_by_one_class += entry.one_class();
    }
    if (seen.empty() || (shared > 0 && shared_by_one_class < shared)) return;
    if (shared > 0)
        findings.push_back(
            {Severity::serious,
             FindingCode::recorders_apart,
             {},
             "Recorders went from site to site, but none of them served both classes. A difference "
             "between recorders looks like a difference between stands.",
             "Move recorders between classes; until then compare their noise floors."});
    else
        findings.push_back(
            {Severity::note,
             FindingCode::own_recorders,
             {},
             "Every site has a recorder of its own. Recorder and site cannot be told apart; if all "
             "recorders are alike, this costs nothing.",
             "Compare noise floors, and move recorders between classes next time."});
}

void check_rates(const AuditInput& input, std::vector<Finding>& findings) {
    std::set<double> rates;
    for (const AuditSite& site : input.sites)
        rates.insert(site.sample_rates_hz.begin(), site.sample_rates_hz.end());
    if (rates.size() < 2) return;
    std::vector<std::string> names;
    names.reserve(rates.size());
    for (const double rate : rates) names.push_back(format_number(rate));
    findings.push_back({Severity::serious,
                        FindingCode::sample_rate,
                        {},
                        "Recordings have several sample rates: " + join(names, ", ") +
                            " Hz. A frame is then another length and a bin another width, so "
                            "indices differ for that alone.",
                        "Keep the recordings of one rate, or convert copies to the lowest."});
}

void check_dates(const AuditInput& input, std::vector<Finding>& findings) {
    // ISO dates order as text.
    std::string first_a, last_a, first_b, last_b;
    for (const AuditSite& site : input.sites) {
        if (site.first_date.empty()) continue;
        std::string& first = input.is_a(site) ? first_a : first_b;
        std::string& last = input.is_a(site) ? last_a : last_b;
        if (first.empty() || site.first_date < first) first = site.first_date;
        last = std::max(last, site.last_date);
    }
    if (first_a.empty() || first_b.empty() || (first_a == first_b && last_a == last_b)) return;
    const bool apart = last_a < first_b || last_b < first_a;
    int strangers = 0;
    for (const AuditSite& site : input.sites) {
        if (site.first_date.empty()) continue;
        const std::string& first = input.is_a(site) ? first_b : first_a;
        const std::string& last = input.is_a(site) ? last_b : last_a;
        strangers += site.last_date < first || site.first_date > last;
    }
    if (!apart && strangers == 0) return;
    findings.push_back(
        {apart ? Severity::serious : Severity::doubt,
         FindingCode::dates,
         {},
         fmt::format("{} sites were recorded from {} to {}, {} sites from {} to {}. ",
                     input.settings.class_a, first_a, last_a, input.settings.class_b, first_b,
                     last_b) +
             (apart ? "The classes share no date, so weather and season can explain any difference."
                    : counted(strangers, "site was", "sites were") +
                          " recorded on no date of the other class, so weather and season can "
                          "explain a part."),
         "Record both classes on the same dates; until then keep only the dates they share."});
}

void check_hours(const AuditInput& input, std::vector<Finding>& findings) {
    std::array<double, 24> a{}, b{};
    int sites_a = 0, sites_b = 0;
    for (const AuditSite& site : input.sites) {
        const bool any = std::any_of(site.hour_minutes.begin(), site.hour_minutes.end(),
                                     [](double minutes) { return minutes > 0; });
        if (!any) continue;
        ++(input.is_a(site) ? sites_a : sites_b);
        for (std::size_t h = 0; h < 24; ++h) (input.is_a(site) ? a : b)[h] += site.hour_minutes[h];
    }
    if (sites_a == 0 || sites_b == 0) return;
    std::vector<std::string> missing, thin;
    for (std::size_t h = 0; h < 24; ++h) {
        const double of_a = a[h] / sites_a, of_b = b[h] / sites_b;
        if ((of_a == 0) != (of_b == 0))
            missing.push_back(fmt::format("{:02}", h));
        else if (std::max(of_a, of_b) > 2 * std::min(of_a, of_b))
            thin.push_back(fmt::format("{:02}", h));
    }
    if (!missing.empty())
        findings.push_back(
            {Severity::doubt,
             FindingCode::hours,
             {},
             "Only one of the classes has recordings in the hours " + join(missing, ", ") +
                 ". A window that spans them averages other hours in one class than in the other.",
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

void check_trails(const AuditInput& input, std::vector<Finding>& findings) {
    SeenByName seen;
    std::size_t with_trail = 0;
    for (const AuditSite& site : input.sites) {
        if (site.trail.empty()) continue;
        ++with_trail;
        see(seen, site.trail, input.is_a(site));
    }
    // A trail a site says nothing; trails that hold several sites of one class do.
    if (seen.size() < 2 || seen.size() == with_trail) return;
    if (names_of_one_class(seen).size() < seen.size()) return;
    findings.push_back(
        {Severity::serious,
         FindingCode::trails,
         {},
         "No trail passes sites of both classes. Whatever else differs between the trails looks "
         "like a difference between stands.",
         "Add sites of the other class along each trail, or name the trail as the block."});
}

}  // namespace hearwood
