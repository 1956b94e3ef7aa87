#include "aggregate/decided.h"

#include <fmt/core.h>

#include <algorithm>

#include "audio/inventory.h"
#include "base/error.h"
#include "base/text.h"
#include "measure/survey_walk.h"
#include "store/store.h"
#include "survey/sheets.h"
#include "survey/too_loud.h"

namespace hearwood {

namespace {

using Kind = Decision::Kind;

/// Every recording of a deployment that the store or the disk has, as the store writes paths.
std::vector<std::string> paths_of(const Survey& survey, const Store& store,
                                  const Deployment& deployment) {
    std::vector<std::string> paths;
    store.for_each_recording_of(deployment.name,
                                [&](const RecordingRow& row) { paths.push_back(row.path); });
    try {
        for (const FoundFile& file : list_recordings(survey.folder / deployment.folder).recordings)
            paths.push_back(stored_path(deployment.folder + "/" + file.path));
    } catch (const InputError&) {
        // A folder that is not there holds nothing; measuring tells of it.
    }
    return paths;
}

}  // namespace

Decided::Decided(const Survey& survey)
    : absences_(survey.deployments.size()), kept_(survey.sites.size()) {
    const Zone zone = Zone::named(survey.time_zone);
    const auto instant = [&](const std::optional<LocalTime>& time) {
        return time ? std::optional(zone.to_utc(*time)) : std::nullopt;
    };
    for (std::size_t i = 0; i < survey.decisions.size(); ++i) {
        const Decision& decision = survey.decisions[i];
        if (decision.kind == Kind::leave_out)
            for (std::size_t d = 0; d < survey.deployments.size(); ++d)
                if (decision.site ? survey.deployments[d].site == *decision.site
                                  : d == *decision.deployment)
                    absences_[d].push_back(
                        {decision.recording, instant(decision.begins), instant(decision.ends), i});
        if (decision.kind == Kind::keep && decision.screen != kTooLoud)
            kept_[*decision.site].add(reason_named(decision.screen).value());
    }
}

std::optional<std::size_t> Decided::left_out(std::size_t deployment, const std::string& recording,
                                             Instant middle) const {
    for (const Absence& absence : absences_[deployment])
        if (absence.concerns(recording) && !(absence.begins && middle < *absence.begins) &&
            !(absence.ends && middle >= *absence.ends))
            return absence.decision;
    return {};
}

std::optional<std::size_t> Decided::left_out_whole(std::size_t deployment,
                                                   const std::string& recording) const {
    for (const Absence& absence : absences_[deployment])
        if (absence.concerns(recording) && !absence.begins && !absence.ends)
            return absence.decision;
    return {};
}

bool Decided::takes_from(std::size_t deployment, const std::string& recording, Instant begins,
                         Instant ends) const {
    const auto& absences = absences_[deployment];
    return std::any_of(absences.begin(), absences.end(), [&](const Absence& absence) {
        return absence.concerns(recording) && !(absence.begins && ends < *absence.begins) &&
               !(absence.ends && begins >= *absence.ends);
    });
}

void refuse_idle_decisions(const Survey& survey, const Store& store) {
    std::vector<Problem> problems;
    for (const Decision& decision : survey.decisions) {
        if (decision.recording.empty() && decision.kind != Kind::clock) continue;
        const Deployment& deployment = survey.deployments[*decision.deployment];
        const std::vector<std::string> paths = paths_of(survey, store, deployment);
        Problem problem{.file = kDecisionsFile, .line = decision.line};
        if (paths.empty()) {
            problem.field = "subject";
            problem.value = decision.subject;
            problem.what = fmt::format("there is no recording in {}", deployment.folder);
            problem.fix = "decide once its card is offloaded, or correct the name";
        } else if (!decision.recording.empty() &&
                   std::find(paths.begin(), paths.end(), decision.recording) == paths.end()) {
            const auto near = nearest(decision.recording, paths);
            problem.field = decision.kind == Kind::clock ? "from" : "subject";
            problem.value = decision.kind == Kind::clock ? decision.from : decision.subject;
            problem.what = fmt::format("there is no such recording in {}", deployment.folder);
            problem.fix = near ? fmt::format("did you mean '{}'?", *near)
                               : "write its path as in segments.csv";
        } else {
            continue;
        }
        problems.push_back(std::move(problem));
    }
    if (!problems.empty()) throw InputError(std::move(problems));
}

}  // namespace hearwood
