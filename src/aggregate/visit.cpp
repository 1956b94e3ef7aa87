#include "aggregate/visit.h"

#include <algorithm>
#include <map>

namespace hearwood {

std::vector<int> visits_of_sites(const Survey& survey) {
    std::vector<int> visits(survey.deployments.size(), 1);
    std::map<std::size_t, std::vector<std::size_t>> of_site;  // those with a start
    for (std::size_t d = 0; d < survey.deployments.size(); ++d)
        if (survey.deployments[d].start) of_site[survey.deployments[d].site].push_back(d);
    for (auto& [site, deployments] : of_site) {
        std::sort(deployments.begin(), deployments.end(), [&](std::size_t a, std::size_t b) {
            return *survey.deployments[a].start < *survey.deployments[b].start;
        });
        int visit = 1;
        std::optional<LocalTime> until;
        for (const std::size_t d : deployments) {
            const Deployment& deployment = survey.deployments[d];
            if (until && *deployment.start >= *until + kBetweenVisits) ++visit;
            visits[d] = visit;
            const LocalTime end = deployment.end.value_or(*deployment.start);
            until = until ? std::max(*until, end) : end;
        }
    }
    return visits;
}

}  // namespace hearwood
