#include "contrast/nearby.h"

#include <algorithm>

#include "base/missing.h"
#include "base/text.h"

namespace hearwood {

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
