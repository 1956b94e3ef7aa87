// `check SURVEY`: everything that would spoil the result, before hours are spent.
#include <fmt/core.h>

#include <algorithm>
#include <map>
#include <memory>
#include <set>
#include <string>

#include "aggregate/coverage_table.h"
#include "aggregate/survey_look.h"
#include "aggregate/tables.h"
#include "base/file.h"
#include "base/lines.h"
#include "base/text.h"
#include "command/command.h"
#include "command/print.h"
#include "contrast/audit_inputs.h"
#include "contrast/kept_results.h"
#include "store/writer_lock.h"
#include "survey/clock.h"

namespace hearwood {
namespace {

constexpr std::size_t kRecordingsShown = 40;

struct CheckOptions {
    std::string survey;
    SharedOptions shared;
};

/// What the sections found, for the last line.
struct Tally {
    std::size_t serious = 0, doubts = 0;

    void add(Severity severity) {
        serious += severity == Severity::serious;
        doubts += severity == Severity::doubt;
    }
};

void print_sheets(const Survey& survey) {
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
    for (const Problem& warning : survey.warnings) print_entry(one_line(warning));
}

void print_recordings_of(const std::vector<Finding>& findings) {
    for (std::size_t i = 0; i < std::min(findings.size(), kRecordingsShown); ++i)
        print_entry(fmt::format("{}: {}{}{}", word(findings[i].subject), title(findings[i].code),
                                findings[i].what.empty() ? "" : ": ", printable(findings[i].what)),
                    4);
    if (findings.size() > kRecordingsShown)
        print_entry(
            fmt::format("and {} more: recordings.csv lists them all once the survey is tabulated",
                        grouped(findings.size() - kRecordingsShown)));
}

void print_recordings(const SurveyLook& look, Tally& tally) {
    print_heading("Recordings");
    print_entry(fmt::format("{}, {:.1f} h, {:.2f} GB; {} measured already",
                            counted(look.found, "file"), look.seconds / 3600,
                            static_cast<double>(look.bytes) / 1e9, grouped(look.measured)));
    for (const Finding& folder : look.missing_folders) {
        tally.add(folder.severity);
        print_entry(one_line(folder));
    }
    if (!look.troubled.empty()) {
        print_entry(counted(look.troubled.size(), "file is", "files are") +
                    " damaged or unreadable:");
        print_recordings_of(look.troubled);
    }
    if (!look.odd.empty()) {
        print_entry(counted(look.odd.size(), "file is odd:", "files are odd:"));
        print_recordings_of(look.odd);
    }
    for (const SameContent& same : look.same_content)
        print_entry(fmt::format(
            "{} and {} hold the same sound: {} in both, {} and {} among them; one of the two is a "
            "copying slip: take it out of its folder",
            printable(same.one), printable(same.other), counted(same.recordings, "recording"),
            printable(same.path_one), printable(same.path_other)));
    tally.serious += look.same_content.size();
}

void print_coverage(const Survey& survey, const SurveyLook& look, Tally& tally) {
    print_heading("Coverage");
    fmt::print("{}", coverage_calendar(survey, look.coverages));
    for (const DeploymentCoverage& coverage : look.coverages)
        for (const Finding& finding : coverage.findings) {
            tally.add(finding.severity);
            print_entry(one_line(finding));
        }
}

void print_clocks(const Survey& survey, Tally& tally) {
    print_heading("Clocks");
    std::size_t both = 0;
    std::map<std::string, std::vector<std::string>>
        advised;  // many deployments share one piece of advice
    for (const Deployment& deployment : survey.deployments) {
        const RecorderClock clock(survey, deployment);
        if (clock.checks() == RecorderClock::Checks::both)
            ++both;
        else
            advised[clock.advice()].push_back(printable(deployment.name));
    }
    for (const auto& [advice, names] : advised) {
        ++tally.doubts;
        print_entry(join(names, ", ") + ": " + advice);
    }
    print_entry(fmt::format("{} of {} {} both clock checks", both,
                            counted(survey.deployments.size(), "deployment"),
                            survey.deployments.size() == 1 ? "has" : "have"));
}

void print_design(const Survey& survey, const Store& store, const SurveyLook& look, Tally& tally) {
    print_heading("Design");
    const SiteValues* values = look.values ? &*look.values : nullptr;
    const Audit audit = audit_survey(survey, values, look.coverages);
    std::vector<Finding> findings = audit.findings;
    if (values)
        for (Finding& question : questions_of_screens(survey, *values))
            findings.push_back(std::move(question));
    else  // copied and not measured yet: their checksums tell already
        for (Finding& same : findings_of(same_sounds(survey, store), survey))
            findings.push_back(std::move(same));
    worst_first(findings);
    for (const Finding& finding : findings) {
        tally.add(finding.severity);
        print_entry(one_line(finding));
    }
    if (findings.empty()) print_entry("nothing found that could explain a difference");
    print_entry(audit.looked_at + " " + unseen_by_audit());
}

/// Results that survey.db keeps from another plan or other values.
void print_old_results(const Survey& survey, const SurveyLook& look, const Store& store,
                       Tally& tally) {
    const auto old =
        told_as_old(read_kept_results(survey, look.values ? &*look.values : nullptr, store));
    if (old.empty()) return;
    print_heading("Results of before");
    for (const std::string& sentence : old) print_entry(sentence);
    tally.doubts += old.size();
}

void print_verdict(const SurveyLook& look, const Tally& tally) {
    if (tally.serious == 0 && tally.doubts == 0 && look.troubled.empty()) {
        fmt::print("\nNothing found that would spoil the result.\n");
        return;
    }
    std::vector<std::string> parts;
    if (tally.serious > 0) parts.push_back(counted(tally.serious, "serious finding"));
    if (tally.doubts > 0) parts.push_back(counted(tally.doubts, "warning"));
    if (!look.troubled.empty())
        parts.push_back(counted(look.troubled.size(), "damaged or unreadable recording"));
    fmt::print("\n{}", wrapped(join(parts, ", ") + ": see above."));
}

ExitCode check(const CheckOptions& options) {
    const Survey survey = load_survey(options.survey);
    const Store store =
        Store::exists(survey.folder) ? Store::open_read_only(survey.folder) : Store::empty();
    const SurveyLook look = look_at_survey(survey, store, options.shared.quiet);
    if (look.interrupted) return ExitCode::interrupted;

    Tally tally;
    print_sheets(survey);
    print_recordings(look, tally);
    print_coverage(survey, look, tally);
    print_clocks(survey, tally);
    print_design(survey, store, look, tally);
    print_old_results(survey, look, store, tally);
    if (!options.shared.dry_run) {
        const auto turn = lock_results(survey.folder);
        make_folder(tables_folder(survey.folder));
        write_coverage(survey, look.coverages, tables_folder(survey.folder) / "coverage.csv");
    }
    print_verdict(look, tally);
    return look.troubled.empty() && look.missing_folders.empty() ? ExitCode::ok
                                                                 : ExitCode::some_unusable;
}

}  // namespace

Run add_check(CLI::App& program) {
    auto options = std::make_shared<CheckOptions>();
    Command command(
        program, "check",
        "sheets, recordings, coverage, clocks and design: everything that would spoil the result");
    add_survey(command, options->survey);
    add_shared_options(command, options->shared, true);
    command.example("hearwood check ~/surveys/heath-and-alluvium");
    return [options] { return check(*options); };
}

}  // namespace hearwood
