#include "aggregate/placement.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace hearwood {

std::chrono::milliseconds to_milliseconds(double seconds) {
    return std::chrono::milliseconds(std::llrint(seconds * 1000));
}

Placer::Placer(const Survey& survey) : days_(survey) {
    const Zone& zone = days_.zone();
    for (const Deployment& deployment : survey.deployments) {
        Place place{RecorderClock(survey, deployment), deployment.site, {}, {}, {}, 0};
        if (deployment.start) place.begins = zone.to_utc(*deployment.start);
        if (deployment.end) place.ends = zone.to_utc(*deployment.end);
        places_.push_back(std::move(place));
    }
    for (std::size_t d = 0; d < places_.size(); ++d)
        places_[d].decided_rate = decided_rate_of(survey, d);
    for (std::size_t i = 0; i < survey.decisions.size(); ++i) {
        const Decision& decision = survey.decisions[i];
        if (decision.kind == Decision::Kind::clock)
            places_[*decision.deployment].true_starts.push_back(
                {decision.recording, zone.to_utc(*decision.true_start), i});
    }
}

RecorderClock::Reading Placer::recording(std::size_t deployment, LocalTime wall,
                                         std::optional<int> stated_offset_s) const {
    std::optional<std::chrono::seconds> offset;
    if (stated_offset_s) offset = std::chrono::seconds(*stated_offset_s);
    return places_[deployment].clock.read(wall, offset);
}

Placement Placer::segment(std::size_t deployment, Instant recording_start, double offset_s,
                          double duration_s) const {
    const Place& place = places_[deployment];
    Placement result;
    result.start = recording_start + to_milliseconds(offset_s);
    result.middle = recording_start + to_milliseconds(offset_s + duration_s / 2);
    result.part = days_.of(place.site, result.middle);
    result.inside = !(place.begins && result.middle < *place.begins) &&
                    !(place.ends && result.middle >= *place.ends);
    return result;
}

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
