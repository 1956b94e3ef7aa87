// `check SURVEY`: everything that would spoil the result, before hours are spent.
#include <fmt/core.h>

#include <algorithm>
#include <iterator>
#include <map>
#include <memory>
#include <set>
#include <string>

#include "aggregate/card_evidence.h"
#include "aggregate/coverage_table.h"
#include "aggregate/decided.h"
#include "aggregate/survey_look.h"
#include "aggregate/tables.h"
#include "base/file.h"
#include "base/lines.h"
#include "base/log.h"
#include "base/text.h"
#include "card/offload_note.h"
#include "command/command.h"
#include "command/open_survey.h"
#include "command/print.h"
#include "contrast/audit_inputs.h"
#include "contrast/kept_results.h"
#include "store/writer_lock.h"
#include "survey/clock.h"
#include "survey/trials.h"

namespace hearwood {
namespace {

// What a tired person reads to the end: some two lines a kind of finding, a screen in all.
constexpr std::size_t kGroupsShown = 6, kNamesShown = 4, kWarningsShown = 3, kDecisionsShown = 5;
constexpr int kGroupCharacters = 150;

struct CheckOptions {
    std::string survey;
    bool all = false;
    SharedOptions shared;
};

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

/// Everything that was found, of all kinds; and what the audit of the design looked at, in
/// sentences.
std::vector<Finding> everything(const Survey& survey, const Store& store, const SurveyLook& look,
                                std::string& looked_at) {
    std::vector<Finding> findings = look.missing_folders;
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
        if (half_copied(store, deployment.name))
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
    // In a run the contrast tells what of the design could explain it.
    if (part_of_run())
        std::erase_if(audit.findings,
                      [](const Finding& f) { return can_explain(f.code) && !is_of_card(f.code); });
    add(std::move(audit.findings));
    looked_at = audit.looked_at + " " + unseen_by_audit();
    add(look.evidence);
    if (values)
        add(questions_of_screens(survey, *values));
    else  // copied and not measured yet: their checksums tell already
        add(findings_of(same_sounds(survey, store), survey));
    add(look.odd);
    add(told_as_old(read_kept_results(survey, values, store)));
    return findings;
}

/// "40 recordings of K07-1, 3 of K08-1", "D1, D2, D3, D4 and 5 more".
std::string subjects_of(const FindingGroup& group) {
    std::vector<std::string> names;
    std::map<std::string, int> recordings;  // by deployment
    for (const Finding* finding : group.findings) {
        const std::string name = printable(finding->subject.name);
        if (finding->subject.kind == Subject::Kind::recording)
            ++recordings[finding->subject.part_of];
        else if (std::find(names.begin(), names.end(), name) == names.end())
            names.push_back(name);
    }
    bool counting = false;  // "40 recordings of K07-1, 3 of K08-1"
    for (const auto& [deployment, count] : recordings) {
        const std::string name = printable(deployment);
        if (std::find(names.begin(), names.end(), name) != names.end()) continue;
        names.push_back(
            fmt::format("{} of {}", counting ? grouped(count) : counted(count, "recording"), name));
        counting = true;
    }
    if (names.size() <= kNamesShown + 1) return join(names, ", ");
    const std::size_t more = names.size() - kNamesShown;
    names.resize(kNamesShown);
    return fmt::format("{} and {} more", join(names, ", "), more);
}

/// Of a name that would fill the line the end, where a file has its own name.
std::string end_of(const std::string& name) {
    constexpr int kWidest = 70;
    const int length = characters(name);
    if (length <= kWidest) return name;
    const std::string_view before = first_characters(name, length - kWidest + 1);
    return "…" + name.substr(before.size());
}

/// One entry for all findings of a kind: who is concerned, and the sentences of the first of them.
std::string entry_of(const FindingGroup& group) {
    const Finding& first = *group.findings.front();
    std::string text = title(group.code);
    if (group.findings.size() == 1) {
        const std::string subject = word(first.subject);
        if (!subject.empty()) text += ", " + end_of(subject);
    } else {
        text += ": " + subjects_of(group);
    }
    const std::string what = sentences(first);
    if (!what.empty()) text += ": " + printable(what);
    return cut(text, kGroupCharacters);
}

/// The findings of one weight, under a heading. Each by itself with `all`, else by kind.
void print_findings(const std::vector<Finding>& findings, Severity severity, const char* heading,
                    bool all) {
    std::vector<Finding> of_weight;
    for (const Finding& finding : findings)
        if (finding.severity == severity) of_weight.push_back(finding);
    if (of_weight.empty()) return;
    print_heading(heading);
    if (all) {
        for (const Finding& finding : of_weight) print_entry(one_line(finding));
        return;
    }
    const std::vector<FindingGroup> groups = grouped_by_code(of_weight);
    for (std::size_t i = 0; i < std::min(groups.size(), kGroupsShown); ++i)
        print_entry(entry_of(groups[i]));
    if (groups.size() > kGroupsShown)
        print_entry(fmt::format(
            "and {} more: --all shows them",
            counted(groups.size() - kGroupsShown, "kind of finding", "kinds of findings")));
}

/// So many lines of a list, or all of it.
template <class LineOf>
void print_some(std::size_t count, std::size_t shown, bool all, const LineOf& line_of) {
    for (std::size_t i = 0; i < count && (all || i < shown); ++i) print_entry(line_of(i));
    if (!all && count > shown)
        print_entry(fmt::format("and {} more: --all shows them", count - shown));
}

void print_sheets(const Survey& survey, std::size_t trials, bool all) {
    fmt::print("{}\n", printable(survey.title));
    std::set<std::string> blocks;
    std::size_t in_a = 0, in_b = 0;
    for (const Site& site : survey.sites) {
        in_a += site.stand == survey.stands.class_a ? 1 : 0;
        in_b += site.stand == survey.stands.class_b ? 1 : 0;
        if (!site.block.empty()) blocks.insert(site.block);
    }
    const std::size_t others = survey.sites.size() - in_a - in_b;
    print_entry(fmt::format("{}: {} {}, {} {}{}", counted(survey.sites.size(), "site"), in_a,
                            printable(survey.stands.class_a), in_b,
                            printable(survey.stands.class_b),
                            others > 0 ? fmt::format(", {} of other classes", others) : ""));
    if (!survey.stands.block.empty())
        print_entry(counted(blocks.size(), "block") + " by " + printable(survey.stands.block));
    print_entry(counted(survey.deployments.size(), "deployment") + ", local time of " +
                survey.time_zone);
    if (survey.contrast.primary_index.empty())
        print_entry(
            "no primary outcome declared: all results will be secondary ([contrast].primary)");
    else
        print_entry(fmt::format("primary outcome: {} in {}", survey.contrast.primary_index,
                                survey.contrast.primary_window));
    if (trials > 0) print_entry(counted(trials, "play") + " of the trial in trials.csv");
    print_some(survey.decisions.size(), kDecisionsShown, all, [&](std::size_t i) {
        const Decision& decision = survey.decisions[i];
        return fmt::format("decided: {} ({})", printable(in_words(decision)),
                           printable(decision.reason));
    });
    print_some(survey.warnings.size(), kWarningsShown, all,
               [&](std::size_t i) { return one_line(survey.warnings[i]); });
}

void print_recordings(const Survey& survey, const SurveyLook& look) {
    print_heading("Recordings");
    print_entry(fmt::format("{}, {:.1f} h, {:.2f} GB; {} measured already",
                            counted(look.found, "file"), look.seconds / 3600,
                            static_cast<double>(look.bytes) / 1e9, grouped(look.measured)));
    const auto checked = std::count_if(
        survey.deployments.begin(), survey.deployments.end(), [&](const Deployment& deployment) {
            return RecorderClock(survey, deployment).checks() == RecorderClock::Checks::both;
        });
    print_entry(fmt::format("{} of {} {} both clock checks", checked,
                            counted(survey.deployments.size(), "deployment"),
                            survey.deployments.size() == 1 ? "has" : "have"));
}

/// The last lines say how it stands.
void print_verdict(const std::vector<Finding>& findings, const SurveyLook& look, bool all) {
    const auto of = [&](Severity severity) {
        return std::count_if(findings.begin(), findings.end(),
                             [&](const Finding& f) { return f.severity == severity; });
    };
    const auto serious = of(Severity::serious), doubts = of(Severity::doubt),
               notes = of(Severity::note);
    std::vector<std::string> parts;
    const auto unusable = static_cast<std::ptrdiff_t>(look.unusable.size());
    if (serious > unusable) parts.push_back(counted(serious - unusable, "serious finding"));
    if (unusable > 0) parts.push_back(counted(unusable, "damaged or unreadable recording"));
    if (doubts > 0) parts.push_back(counted(doubts, "warning"));
    std::string text = parts.empty() ? "Nothing found that would spoil the result."
                                     : join(parts, ", ") + ": see above.";
    if (!all && notes > 0) text += fmt::format(" {}: --all shows them.", counted(notes, "note"));
    fmt::print("\n{}", wrapped(text));
}

ExitCode check(const CheckOptions& options) {
    const Survey survey = open_survey(options.survey);
    const Store store =
        Store::exists(survey.folder) ? Store::open_read_only(survey.folder) : Store::empty();
    refuse_idle_decisions(survey, store);
    std::vector<Problem> problems;
    const std::vector<Trial> trials = read_trials(survey, problems);
    if (any_error(problems)) throw InputError(problems);
    log_line(problems);
    const SurveyLook look = look_at_survey(survey, store, options.shared.quiet);
    if (look.interrupted) return ExitCode::interrupted;

    std::string looked_at;
    const std::vector<Finding> findings = everything(survey, store, look, looked_at);
    print_sheets(survey, trials.size(), options.all);
    print_findings(findings, Severity::serious, "Needs a hand", options.all);
    print_findings(findings, Severity::doubt, "To keep in mind", options.all);
    if (options.all) {
        print_findings(findings, Severity::note, "Notes", true);
        print_heading("Design");
        print_entry(looked_at);
    }
    print_recordings(survey, look);
    print_heading("Coverage");
    fmt::print("{}", coverage_calendar(survey, look.coverages, options.all));
    if (!options.shared.dry_run) {
        const auto turn = lock_results(survey.folder);
        make_folder(tables_folder(survey.folder));
        write_coverage(survey, look.coverages, tables_folder(survey.folder) / "coverage.csv");
    }
    print_verdict(findings, look, options.all);
    return look.unusable.empty() && look.missing_folders.empty() ? ExitCode::ok
                                                                 : ExitCode::some_unusable;
}

}  // namespace

Run add_check(CLI::App& program) {
    auto options = std::make_shared<CheckOptions>();
    Command command(
        program, "check",
        "sheets, recordings, coverage, clocks and design: everything that would spoil the result");
    add_survey(command, options->survey);
    command.add_flag("--all", options->all,
                     "every finding by itself, and deployments with holes hour by hour");
    add_shared_options(command, options->shared, true);
    command.example("hearwood check ~/surveys/heath-and-alluvium");
    return [options] { return check(*options); };
}

}  // namespace hearwood
