#include "contrast/survey_findings.h"

#include <fmt/core.h>

#include <algorithm>
#include <iterator>

#include "aggregate/card_evidence.h"
#include "aggregate/coverage_table.h"
#include "aggregate/decided.h"
#include "base/lines.h"
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

constexpr std::size_t kGroupsShown = 6, kWarningsShown = 3, kDecisionsShown = 5;
constexpr int kGroupCharacters = 150;

/// The findings of one weight, under a heading. Each by itself with `all`, else by kind.
std::string findings_text(const std::vector<Finding>& findings, Severity severity,
                          const std::string& title, bool all) {
    std::vector<Finding> of_weight;
    for (const Finding& finding : findings)
        if (finding.severity == severity) of_weight.push_back(finding);
    if (of_weight.empty()) return {};
    std::string text = heading(title);
    if (all) {
        for (const Finding& finding : of_weight) text += list_entry(one_line(finding));
        return text;
    }
    const std::vector<FindingGroup> groups = grouped_by_code(of_weight);
    for (std::size_t i = 0; i < std::min(groups.size(), kGroupsShown); ++i)
        text += list_entry(entry_of(groups[i], kGroupCharacters));
    if (groups.size() > kGroupsShown)
        text += list_entry(fmt::format(
            "and {} more: --all shows them",
            counted(groups.size() - kGroupsShown, "kind of finding", "kinds of findings")));
    return text;
}

/// So many entries of a list, or all of it.
template <class LineOf>
std::string some_of(std::size_t count, std::size_t shown, bool all, const LineOf& line_of) {
    std::string text;
    for (std::size_t i = 0; i < count && (all || i < shown); ++i) text += list_entry(line_of(i));
    if (!all && count > shown)
        text += list_entry(fmt::format("and {} more: --all shows them", count - shown));
    return text;
}

std::string sites_text(const Survey& survey) {
    const auto of_class = [&](const std::string& name) {
        return std::count_if(survey.sites.begin(), survey.sites.end(),
                             [&](const Site& site) { return site.stand == name; });
    };
    const auto in_a = of_class(survey.stands.class_a), in_b = of_class(survey.stands.class_b);
    const auto others = std::ssize(survey.sites) - in_a - in_b;
    std::string text = list_entry(
        fmt::format("{}: {} {}, {} {}{}", counted(survey.sites.size(), "site"), in_a,
                    printable(survey.stands.class_a), in_b, printable(survey.stands.class_b),
                    others > 0 ? fmt::format(", {} of other classes", others) : ""));
    if (!survey.stands.block.empty())
        text += list_entry(counted(blocks_of(survey).size(), "block") + " by " +
                           printable(survey.stands.block));
    return text;
}

std::string sheets_text(const Survey& survey, std::size_t trials, bool all) {
    std::string text = printable(survey.title) + "\n" + sites_text(survey);
    text += list_entry(counted(survey.deployments.size(), "deployment") + ", local time of " +
                       survey.time_zone);
    const ContrastSettings& contrast = survey.contrast;
    text += list_entry(
        contrast.primary_index.empty()
            ? "no primary outcome declared: all results will be secondary ([contrast].primary)"
            : "primary outcome: " + contrast.primary_index + " in " + contrast.primary_window);
    if (trials > 0) text += list_entry(counted(trials, "play") + " of the trial in trials.csv");
    text += some_of(survey.decisions.size(), kDecisionsShown, all, [&](std::size_t i) {
        const Decision& decision = survey.decisions[i];
        return fmt::format("decided: {} ({})", printable(in_words(decision)),
                           printable(decision.reason));
    });
    return text + some_of(survey.warnings.size(), kWarningsShown, all,
                          [&](std::size_t i) { return one_line(survey.warnings[i]); });
}

std::string recordings_text(const Survey& survey, const SurveyLook& look,
                            const std::string& title) {
    const auto checked = std::count_if(
        survey.deployments.begin(), survey.deployments.end(), [&](const Deployment& deployment) {
            return RecorderClock(survey, deployment).checks() == RecorderClock::Checks::both;
        });
    return heading(title) +
           list_entry(fmt::format("{}, {:.1f} h, {:.2f} GB; {} measured already",
                                  counted(look.found, "file"), look.seconds / 3600,
                                  static_cast<double>(look.bytes) / 1e9, grouped(look.measured))) +
           list_entry(fmt::format("{} of {} {} both clock checks", checked,
                                  counted(survey.deployments.size(), "deployment"),
                                  survey.deployments.size() == 1 ? "has" : "have"));
}

/// The last lines say how it stands.
std::string verdict_of(const std::vector<Finding>& findings, const SurveyLook& look, bool all) {
    const auto of = [&](Severity severity) {
        return std::count_if(findings.begin(), findings.end(),
                             [&](const Finding& f) { return f.severity == severity; });
    };
    const auto serious = of(Severity::serious), doubts = of(Severity::doubt),
               notes = of(Severity::note), unusable = std::ssize(look.unusable);
    std::vector<std::string> parts;
    if (serious > unusable) parts.push_back(counted(serious - unusable, "serious finding"));
    if (unusable > 0) parts.push_back(counted(unusable, "damaged or unreadable recording"));
    if (doubts > 0) parts.push_back(counted(doubts, "warning"));
    std::string text = parts.empty() ? "Nothing found that would spoil the result."
                                     : join(parts, ", ") + ": see above.";
    if (!all && notes > 0) text += fmt::format(" {}: --all shows them.", counted(notes, "note"));
    return "\n" + wrapped(text);
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

std::string check_text(const Survey& survey, const SurveyLook& look, const SurveyFindings& found,
                       std::size_t trials, bool all, std::string (*title)(std::string_view)) {
    const std::vector<Finding>& findings = found.findings;
    std::string text = sheets_text(survey, trials, all) +
                       findings_text(findings, Severity::serious, title("Needs a hand"), all) +
                       findings_text(findings, Severity::doubt, title("To keep in mind"), all);
    if (all)
        text += findings_text(findings, Severity::note, title("Notes"), true) +
                heading(title("Design")) + list_entry(found.audit_looked_at);
    return text + recordings_text(survey, look, title("Recordings")) + heading(title("Coverage")) +
           coverage_calendar(survey, look.coverages, all) + verdict_of(findings, look, all);
}

}  // namespace hearwood
