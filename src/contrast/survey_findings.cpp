#include "contrast/survey_findings.h"

#include <fmt/core.h>

#include <algorithm>
#include <iterator>

#include "aggregate/card_evidence.h"
#include "aggregate/decided.h"
#include "base/text.h"
#include "contrast/audit_inputs.h"
#include "contrast/kept_results.h"
#include "survey/clock.h"

namespace hearwood {
namespace {

/// Said in place of holes, which may be those of the copying.
Finding unproved(const Survey& survey, const Deployment& deployment) {
    return {Severity::serious, FindingCode::unproved,
            Subject::deployment(deployment.name, survey.sites[deployment.site].name),
            "Its last offload did not prove every file of the card.",
            "Offload the card once more before it is wiped or goes out again."};
}

/// Where a folder is missing, that nothing lies in it is told already.
std::vector<Finding> but_missing_folders(std::vector<Finding> findings, const SurveyLook& look) {
    std::erase_if(findings, [&](const Finding& finding) {
        return finding.code == FindingCode::no_recordings &&
               std::any_of(look.missing_folders.begin(), look.missing_folders.end(),
                           [&](const Finding& missing) {
                               return missing.subject.name == finding.subject.name;
                           });
    });
    return findings;
}

}  // namespace

SurveyFindings everything_found(const Survey& survey, const Store& store, const SurveyLook& look,
                                const std::set<std::string>& half_copied, bool with_confounds) {
    SurveyFindings found;
    std::vector<Finding>& findings = found.findings;
    findings = look.missing_folders;
    const auto add = [&](std::vector<Finding> more) {
        std::move(more.begin(), more.end(), std::back_inserter(findings));
    };
    add(look.unusable);
    for (const SameContent& same : look.same_content)
        findings.push_back(
            {Severity::serious, FindingCode::same_sound, Subject::deployment(same.other),
             fmt::format("{} and {} hold the same sound: {} in both, {} and {} among them.",
                         same.one, same.other, counted(same.recordings, "recording"), same.path_one,
                         same.path_other),
             "One of the two is a copying slip: leave it out by a row of decisions.csv."});
    const Decided decided(survey);
    for (const DeploymentCoverage& coverage : look.coverages) {
        const Deployment& deployment = survey.deployments[coverage.deployment];
        if (half_copied.contains(deployment.name))
            findings.push_back(unproved(survey, deployment));
        else if (!decided.left_out_whole(coverage.deployment, ""))
            add(but_missing_folders(coverage.findings, look));
    }
    for (std::size_t d = 0; d < survey.deployments.size(); ++d) {
        const Deployment& deployment = survey.deployments[d];
        if (decided.left_out_whole(d, "")) continue;
        const std::string advice = RecorderClock(survey, deployment).advice();
        if (!advice.empty())
            findings.push_back(
                {Severity::doubt, FindingCode::clock_unchecked,
                 Subject::deployment(deployment.name, survey.sites[deployment.site].name),
                 as_sentence(advice), ""});
    }
    const SiteValues* values = look.values ? &*look.values : nullptr;
    Audit audit = audit_survey(survey, values, look.coverages);
    if (!with_confounds)
        std::erase_if(audit.findings,
                      [](const Finding& f) { return can_explain(f.code) && !is_of_card(f.code); });
    add(std::move(audit.findings));
    found.audit_looked_at = audit.looked_at + " " + unseen_by_audit();
    add(look.evidence);
    if (values)
        add(questions_of_screens(survey, *values));
    else  // copied and not measured yet: their checksums tell already
        add(findings_of(same_sounds(survey, store), survey));
    add(look.odd);
    add(told_as_old(read_kept_results(survey, values, store)));
    return found;
}

}  // namespace hearwood
