#include "card/offload.h"

#include <fmt/core.h>

#include <algorithm>
#include <memory>
#include <optional>

#include "aggregate/card_evidence.h"
#include "aggregate/coverage.h"
#include "aggregate/judged_segments.h"
#include "base/interrupt.h"
#include "base/log.h"
#include "base/text.h"
#include "board/board.h"
#include "board/which_deployment.h"
#include "card/repair.h"
#include "command/command.h"

namespace hearwood {
namespace {

// Of each kind of finding; OFFLOAD.txt in the deployment's folder has them all.
constexpr std::size_t kLinesShown = 12;

struct OffloadArguments {
    OffloadOptions offload;
    std::string survey, second;
    SharedOptions shared;
};

ExitCode exit_code(const OffloadResult& result) {
    if (result.interrupted) return ExitCode::interrupted;
    if (!result.stopped.empty() || result.rows_missing) return ExitCode::machine_failed;
    if (result.dry_run) return ExitCode::ok;
    const bool damaged =
        std::any_of(result.findings.begin(), result.findings.end(), [](const Finding& finding) {
            return finding.code == FindingCode::damaged ||
                   finding.code == FindingCode::no_start_time;
        });
    return result.may_wipe() && !damaged ? ExitCode::ok : ExitCode::some_unusable;
}

/// Commonest slip of all: the two folders in the other order.
void check_order(const OffloadArguments& options) {
    std::error_code ignored;
    const auto sheet = [](const std::filesystem::path& folder) { return folder / "survey.toml"; };
    if (!std::filesystem::exists(sheet(options.survey), ignored) &&
        std::filesystem::exists(sheet(options.offload.card), ignored))
        throw InputError(printable(options.offload.card.native()) + " is a survey and " +
                             printable(options.survey) + " is not",
                         "the card comes first: hearwood offload CARD SURVEY --deployment D");
}

std::size_t index_of(const Survey& survey, const std::string& name) {
    const auto at =
        std::find_if(survey.deployments.begin(), survey.deployments.end(),
                     [&name](const Deployment& deployment) { return deployment.name == name; });
    return static_cast<std::size_t>(at - survey.deployments.begin());
}

/// What of the deployment is there now, from this card and earlier ones.
void print_deployment(const Survey& survey, const OffloadResult& result,
                      const std::vector<KnownRecording>& recordings, std::size_t index) {
    const Placer placer(survey);
    const DeploymentCoverage coverage = coverage_of(survey, placer, index, recordings, nullptr);
    fmt::print("\nCoverage of deployment {}\n{}", printable(result.deployment),
               coverage_calendar(survey, {&coverage, 1}));
    // What is not wholly here yet has holes of its own.
    if (result.all_proved())
        for (const Finding& finding : coverage.findings) print_entry(one_line(finding));
    const std::string advice = placer.clock(index).advice();
    if (advice.empty()) return;
    print_heading("Clock");
    print_entry(advice);
}

/// The deployment's line of the board, and what its card shows beside the others.
void print_board_line(const Survey& survey, const Store& store, const std::string& deployment) {
    const BoardLine line = board_line(survey, store, deployment);
    fmt::print("\n{}", board_text(survey, {&line, 1}));
    for (const Finding& finding : line.findings)
        if (is_of_card(finding.code)) print_entry(one_line(finding));
}

/// Without --deployment: says whose card this seems to be.
[[noreturn]] void refuse_nameless(const OffloadArguments& options) {
    check_order(options);
    std::vector<Problem> forgiven;
    const Survey survey = load_survey_for(options.survey, "", forgiven);
    log_line(forgiven);
    const Store store =
        Store::exists(options.survey) ? Store::open_read_only(options.survey) : Store::empty();
    const auto guesses = guess_deployment(survey, store, options.offload.card);
    const bool one =
        guesses.size() == 1 || (guesses.size() > 1 && guesses[0].points > guesses[1].points);
    throw InputError(
        "--deployment is not given, and nothing was copied; " + guess_in_words(survey, guesses),
        one ? "if it is, add --deployment " +
                  printable(survey.deployments[guesses[0].deployment].name)
            : "look at the label, and name the row of deployments.csv with --deployment");
}

/// `offload --repair SURVEY --second DIR`: the card is long wiped; the disks repair each other.
ExitCode repair_disks(const OffloadArguments& options) {
    const Survey survey = load_survey(options.offload.card.native());
    if (options.second.empty())
        throw InputError("--repair without a card needs the second disk",
                         "hearwood offload --repair SURVEY --second DIR");
    RepairOptions how;
    how.second = options.second;
    if (!options.offload.deployment.empty()) how.deployment = options.offload.deployment;
    how.dry_run = options.shared.dry_run;
    how.quiet = options.shared.quiet;
    std::optional<Store> store;  // its lock keeps other writers away
    if (!how.dry_run) store = Store::open(survey.folder);
    const Repairs repairs = repair_copies(survey, how);
    print_wrapped(fmt::format("{} compared on both disks, {} {}, {} not",
                              counted(repairs.files, "file"), grouped(repairs.repaired.size()),
                              how.dry_run ? "would be repaired" : "repaired",
                              grouped(repairs.not_repaired.size())));
    for (const std::string& line : repairs.repaired) print_entry(line);
    for (const std::string& line : repairs.not_repaired) print_entry("NOT REPAIRED " + line);
    if (repairs.interrupted) return ExitCode::interrupted;
    return repairs.not_repaired.empty() ? ExitCode::ok : ExitCode::some_unusable;
}

ExitCode run_offload(OffloadArguments options) {
    if (options.survey.empty()) {
        if (options.offload.repair) return repair_disks(options);
        throw InputError("SURVEY is required", "hearwood offload CARD SURVEY --deployment D");
    }
    if (options.offload.deployment.empty()) refuse_nameless(options);
    check_order(options);
    std::vector<Problem> forgiven;
    const Survey survey = load_survey_for(options.survey, options.offload.deployment, forgiven);
    log_line(forgiven);
    OffloadOptions& how = options.offload;
    how.quiet = options.shared.quiet;
    how.dry_run = options.shared.dry_run;
    how.jobs = job_count(options.shared);
    if (!options.second.empty()) how.second = options.second;
    Store store = !how.dry_run                    ? Store::open(options.survey)
                  : Store::exists(options.survey) ? Store::open_read_only(options.survey)
                                                  : Store::empty();
    const OffloadResult result = offload(survey, store, how);
    fmt::print("{}{}", card_in_words(result, kLinesShown), this_run(result));
    if (!how.dry_run) {
        const std::size_t index = index_of(survey, how.deployment);
        const auto recordings = recordings_of(survey, store, Placer(survey), index);
        print_deployment(survey, result, recordings, index);
        print_board_line(survey, store, how.deployment);
    }
    fmt::print("\n{}", verdict(result));
    return exit_code(result);
}

}  // namespace

Run add_offload(CLI::App& program) {
    auto options = std::make_shared<OffloadArguments>();
    Command command(program, "offload", "copy a card into the survey, with proof");
    command.add_option("CARD", options->offload.card, "folder of the card; it is only read")
        .required();
    command.add_option("SURVEY", options->survey, "folder with survey.toml");
    command
        .add_option("--deployment", options->offload.deployment,
                    "whose recordings these are (deployments.csv)")
        .type_name("D");
    command
        .add_option("--second", options->second, "make a second proved copy here, in the same read")
        .type_name("DIR");
    command.add_flag("--one-copy", options->offload.one_copy,
                     "copies on one disk are enough for the card to be wiped");
    command.add_flag("--read-once", options->offload.read_once,
                     "do not read the card again at the end to see whether it gives the same");
    command.add_flag("--repair", options->offload.repair,
                     "make spoilt copies anew; without a card (hearwood offload --repair SURVEY "
                     "--second DIR) each disk from the other");
    command.add_flag("--measure", options->offload.measure,
                     "measure the recordings too, from what the card gave to be copied");
    command.add_flag("--force", options->offload.force,
                     "go on although the card does not fit the deployment");
    add_shared_options(command, options->shared, true);
    command.example(
        "hearwood offload /media/card my-survey --deployment A1-march --second /media/backup");
    return [options] { return run_offload(*options); };
}

}  // namespace hearwood
