#include "contrast/audit_checks.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "base/text.h"
#include "statistics/quantile.h"

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

void check_counts(const AuditInput& input, std::vector<Finding>& findings) {
    std::map<std::string, std::pair<int, int>> blocks;  // sites of class A and B; "": all
    for (const AuditSite& site : input.sites) {
        ++(input.is_a(site) ? blocks[""].first : blocks[""].second);
        if (!site.block.empty())
            ++(input.is_a(site) ? blocks[site.block].first : blocks[site.block].second);
    }
    std::vector<std::string> unequal;
    for (const auto& [block, counts] : blocks)
        if (counts.first != counts.second && counts.first > 0 && counts.second > 0)
            unequal.push_back(fmt::format(
                "{} {} and {} {} sites{}", counts.first, input.settings.class_a, counts.second,
                input.settings.class_b, block.empty() ? "" : " in block " + block));
    if (unequal.empty()) return;
    findings.push_back(
        {Severity::note,
         FindingCode::unequal_counts,
         {},
         fmt::format("There are {}. Where the numbers differ, classes that differ in spread alone "
                     "can look as if they differed in level, and a site more in the larger class "
                     "adds little.",
                     join(unequal, ", ")),
         "Take equally many sites of both classes, in each block, where you can still choose."});
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
    std::map<double, std::vector<std::string>> sites;
    for (const AuditSite& site : input.sites)
        for (const double rate : site.sample_rates_hz) sites[rate].push_back(site.site);
    if (sites.size() < 2) return;
    std::vector<std::string> parts;
    parts.reserve(sites.size());
    for (const auto& [rate, names] : sites)
        parts.push_back(fmt::format("{} Hz at {}", format_number(rate), join(names, ", ")));
    findings.push_back({Severity::serious,
                        FindingCode::sample_rate,
                        {},
                        "Recordings have several sample rates: " + join(parts, "; ") +
                            ". A frame is then another length and a bin another width, so indices "
                            "differ for that alone.",
                        "Keep the recordings of one rate, or convert copies to the lowest."});
}

void check_times(const AuditInput& input, std::vector<Finding>& findings) {
    std::vector<std::string> leaning, lost;
    for (const AuditSite& site : input.sites) {
        std::vector<std::string> windows;
        for (const auto& [window, leans] : site.leaning)
            windows.push_back(fmt::format("{} {:.1f}", window, leans));
        if (!windows.empty()) leaning.push_back(site.site + " (" + join(windows, ", ") + ")");
        if (!site.incomparable.empty())
            lost.push_back(site.site + " (" + join(site.incomparable, ", ") + ")");
    }
    if (!lost.empty())
        findings.push_back(
            {Severity::doubt,
             FindingCode::no_value,
             {},
             "No value: " + join(lost, "; ") +
                 ". There the site shares too few dates and times with the others for their "
                 "difference to be told from that of the dates, and it takes no part.",
             "Record all sites on the same dates, or leave one recorder at one site throughout."});
    if (!leaning.empty())
        findings.push_back(
            {Severity::doubt,
             FindingCode::leans,
             {},
             "Values lean on the model of dates and times: " + join(leaning, "; ") +
                 ". The number says how many times the variance of the site's value is what it "
                 "would be had all sites been recorded at all times; from 2 on the value is more "
                 "of "
                 "a forecast than a record.",
             "Run 'hearwood robustness', which also takes only those times that every site has, "
             "and "
             "record these sites when the others are recorded."});
}

void check_visits(const AuditInput& input, std::vector<Finding>& findings) {
    constexpr int kDays = 60;
    std::vector<std::string> sites;
    for (const AuditSite& site : input.sites)
        if (site.gap_days > kDays)
            sites.push_back(
                fmt::format("{} (none from {} to {})", site.site, site.gap_from, site.gap_to));
    if (sites.empty()) return;
    findings.push_back(
        {Severity::doubt,
         FindingCode::visits,
         {},
         fmt::format("More than {} days lie between dates of {}. Are these two visits? They are "
                     "averaged, as if they were of one season.",
                     kDays, join(sites, ", ")),
         "Name the season of each deployment in a column `season` of deployments.csv: each then "
         "has "
         "values of its own, and the change of the difference is tested."});
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

void check_floor_of_one(const AuditInput& input, std::vector<Finding>& findings) {
    std::vector<double> floors;
    for (const AuditSite& site : input.sites)
        if (!is_missing(site.noise_floor_dbfs)) floors.push_back(site.noise_floor_dbfs);
    if (floors.size() < 4) return;
    const double middle = median(floors);
    const double limit = input.settings.odd_floor_db;
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

}  // namespace hearwood
