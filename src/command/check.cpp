// `check SURVEY`: everything that would spoil the result, before hours are spent.
#include <fmt/core.h>

#include <algorithm>
#include <memory>
#include <set>
#include <string>

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
#include "contrast/survey_findings.h"
#include "store/writer_lock.h"
#include "survey/clock.h"
#include "survey/trials.h"

namespace hearwood {
namespace {

// What a tired person reads to the end: some two lines a kind of finding, a screen in all.
constexpr std::size_t kGroupsShown = 6, kWarningsShown = 3, kDecisionsShown = 5;
constexpr int kGroupCharacters = 150;

struct CheckOptions {
    std::string survey;
    bool all = false;
    SharedOptions shared;
};

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
        print_entry(entry_of(groups[i], kGroupCharacters));
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

/// By name.
std::set<std::string> deployments_half_copied(const Survey& survey, const Store& store) {
    std::set<std::string> names;
    for (const Deployment& deployment : survey.deployments)
        if (half_copied(store, deployment.name)) names.insert(deployment.name);
    return names;
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

    // In a run the contrast tells what of the design could explain it.
    const SurveyFindings found = everything_found(
        survey, store, look, deployments_half_copied(survey, store), !part_of_run());
    const std::vector<Finding>& findings = found.findings;
    print_sheets(survey, trials.size(), options.all);
    print_findings(findings, Severity::serious, "Needs a hand", options.all);
    print_findings(findings, Severity::doubt, "To keep in mind", options.all);
    if (options.all) {
        print_findings(findings, Severity::note, "Notes", true);
        print_heading("Design");
        print_entry(found.audit_looked_at);
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
