// Distances between sites: two recorders that hear the same animals are not two replicates.
#include <fmt/core.h>

#include <algorithm>
#include <limits>
#include <map>

#include "base/missing.h"
#include "base/text.h"
#include "contrast/audit_checks.h"

namespace hearwood {

namespace {

struct Pair {
    const AuditSite *one, *other;
    double metres;
};

std::vector<Pair> pairs_of(const AuditInput& input) {
    std::vector<Pair> pairs;
    for (std::size_t i = 0; i < input.sites.size(); ++i) {
        for (std::size_t j = i + 1; j < input.sites.size(); ++j) {
            const AuditSite &one = input.sites[i], &other = input.sites[j];
            const double metres =
                distance_m(one.latitude, one.longitude, other.latitude, other.longitude);
            if (!is_missing(metres)) pairs.push_back({&one, &other, metres});
        }
    }
    return pairs;
}

void add_near(const AuditInput& input, const std::vector<Pair>& pairs, bool same_class,
              std::vector<Finding>& findings) {
    std::vector<std::string> near;
    for (const Pair& pair : pairs)
        if (pair.metres < input.settings.listening_distance_m &&
            (pair.one->stand == pair.other->stand) == same_class)
            near.push_back(fmt::format("{} and {} ({} m)", pair.one->site, pair.other->site,
                                       readable_number(pair.metres)));
    if (near.empty()) return;
    findings.push_back(
        {same_class ? Severity::serious : Severity::doubt,
         same_class ? FindingCode::same_class_near : FindingCode::other_class_near,
         {},
         fmt::format("Nearer than the listening distance of {} m: {}. {}",
                     readable_number(input.settings.listening_distance_m), join(near, ", "),
                     same_class ? "Both hear the same animals, so they are one site and p is too "
                                  "small (pseudoreplication)."
                                : "Sites of both classes hear the same animals, so a true "
                                  "difference shrinks."),
         same_class ? "Give both deployments one site name in the sheets, or say why they are two."
                    : "Move one of them, or leave it out."});
}

constexpr int kLeastSites = 4;

/// How often a site's nearest neighbour is of its own class.
struct Interspersion {
    int own = 0, sites = 0;
    double expected = 0;  ///< mean of that share over all permutations of the classes within blocks
    double share() const { return static_cast<double>(own) / sites; }
    /// 0: as often as chance has it; 1: always.
    double excess() const { return expected < 1 ? (share() - expected) / (1 - expected) : 0; }
};

struct BlockCounts {
    double a = 0, b = 0;
    double sites() const { return a + b; }
};

/// That two different sites get the same class by permutation within blocks.
double alike(const BlockCounts& one, const BlockCounts& other, bool same_block) {
    if (same_block)
        return (one.a * (one.a - 1) + one.b * (one.b - 1)) / (one.sites() * (one.sites() - 1));
    return (one.a * other.a + one.b * other.b) / (one.sites() * other.sites());
}

Interspersion interspersion_of(const AuditInput& input) {
    std::map<std::string, BlockCounts> blocks;
    for (const AuditSite& site : input.sites)
        ++(input.is_a(site) ? blocks[site.block].a : blocks[site.block].b);
    Interspersion result;
    for (const AuditSite& site : input.sites) {
        const AuditSite* nearest = nullptr;
        double least = std::numeric_limits<double>::infinity();
        for (const AuditSite& other : input.sites) {
            if (&other == &site) continue;
            const double metres =
                distance_m(site.latitude, site.longitude, other.latitude, other.longitude);
            if (!(metres < least)) continue;
            least = metres;
            nearest = &other;
        }
        if (!nearest) continue;
        ++result.sites;
        result.own += nearest->stand == site.stand;
        result.expected +=
            alike(blocks[site.block], blocks[nearest->block], site.block == nearest->block);
    }
    if (result.sites > 0) result.expected /= result.sites;
    return result;
}

/// Classes that stand in two places, or in clumps.
void add_clumps(const AuditInput& input, std::vector<Finding>& findings) {
    const Interspersion found = interspersion_of(input);
    if (found.sites < kLeastSites || found.excess() < kDoubtfulSize) return;
    findings.push_back(
        {found.excess() >= kSeriousSize ? Severity::serious : Severity::doubt,
         FindingCode::clumped,
         {},
         fmt::format("The nearest other site is of the same class at {} of {} sites; classes "
                     "dealt out at random{} would have it at {}. Whatever else differs from place "
                     "to place looks like the stand.",
                     found.own, found.sites, input.has_blocks() ? " within the blocks" : "",
                     readable_number(found.expected * found.sites)),
         "Spread the sites of both classes over the same places, and name the place as the "
         "block."});
}

}  // namespace

void check_distances(const AuditInput& input, std::vector<Finding>& findings) {
    const std::vector<Pair> pairs = pairs_of(input);
    add_near(input, pairs, true, findings);
    add_near(input, pairs, false, findings);
    add_clumps(input, findings);
}

std::vector<std::vector<std::string>> nearby_groups(std::span<const AuditSite> sites,
                                                    double metres) {
    std::vector<bool> taken(sites.size(), false);
    std::vector<std::vector<std::string>> groups;
    for (std::size_t first = 0; first < sites.size(); ++first) {
        if (taken[first]) continue;
        // Grows while any site lies near one that is in it already.
        std::vector<std::size_t> members{first};
        taken[first] = true;
        for (std::size_t m = 0; m < members.size(); ++m) {
            const AuditSite& one = sites[members[m]];
            for (std::size_t j = 0; j < sites.size(); ++j) {
                const AuditSite& other = sites[j];
                if (taken[j] || other.stand != one.stand || other.block != one.block) continue;
                if (!(distance_m(one.latitude, one.longitude, other.latitude, other.longitude) <
                      metres))
                    continue;
                members.push_back(j);
                taken[j] = true;
            }
        }
        if (members.size() < 2) continue;
        std::sort(members.begin(), members.end());
        std::vector<std::string>& group = groups.emplace_back();
        for (const std::size_t member : members) group.push_back(sites[member].site);
    }
    return groups;
}

std::vector<Unit> with_groups_as_one(std::span<const Unit> units,
                                     std::span<const std::vector<std::string>> groups) {
    std::vector<Unit> merged(units.begin(), units.end());
    for (const std::vector<std::string>& group : groups) {
        const auto in_group = [&](const Unit& unit) {
            return std::find(group.begin(), group.end(), unit.site) != group.end();
        };
        const auto first = std::find_if(merged.begin(), merged.end(), in_group);
        if (first == merged.end()) continue;
        Unit one = *first;
        double sum = 0;
        int count = 0;
        for (const Unit& unit : merged) {
            if (!in_group(unit) || is_missing(unit.value)) continue;
            sum += unit.value;
            ++count;
        }
        std::erase_if(merged, in_group);
        one.site = join(group, " + ");
        one.value = count > 0 ? sum / count : kMissing;
        merged.push_back(one);
    }
    return merged;
}

}  // namespace hearwood
