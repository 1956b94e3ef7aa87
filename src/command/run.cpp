// `run SURVEY`: check, measure, tabulate, trial, even, report, contrast, and anew what was made
// before and is old. Each stage is the command of that name, called with this command's survey and
// shared options.
#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

#include "aggregate/site_values.h"
#include "aggregate/sound_path.h"
#include "base/interrupt.h"
#include "base/log.h"
#include "command/command.h"
#include "command/result_tables.h"
#include "command/terminal_look.h"
#include "contrast/kept_results.h"
#include "contrast/survey_contrast.h"

namespace hearwood {
namespace {

struct Stage {
    const char* name;
    AddCommand add;
    bool needed;  ///< without it the later stages have nothing to work on
    /// Only where a kept result of that name is old: it was made before, and is made anew. The
    /// trial is also made where trials.csv names one.
    const char* renews = nullptr;
    const char* option = nullptr;  ///< passed to the stage besides
};

constexpr Stage kStages[] = {
    {"check", add_check, true},
    {"measure", add_measure, true},
    {"tabulate", add_tabulate, true},
    {"trial", add_trial, false, kTrials},  // before what takes the path from it
    {"even", add_even, false},
    {"listen", add_listen, false, kListening, "--rescore"},  // before what tells of it
    {"robustness", add_robustness, false, kRobustness},
    {"report", add_report, false},
    {"contrast", add_contrast, false},  // last, so that the answer stands where the eye rests
};

bool is_wanted(const Stage& stage, const std::string& folder) {
    if (!stage.renews) return true;
    const Survey survey = open_survey(folder);
    const Store store = Store::open_read_only(survey.folder);
    if (stage.renews == std::string(kTrials))
        return read_kept_trials(survey, store).state != KeptTrials::State::current &&
               !trials_fingerprint(survey, store).empty();
    if (!store.kept_result(stage.renews)) return false;
    const SiteValues values = compute_site_values(survey, store);
    return read_kept_results(survey, &values, store).is_old(stage.renews);
}

/// Parsed as if it stood on the command line: one place knows a stage's options and their defaults.
ExitCode run_stage(const Stage& stage, const SharedOptions& options) {
    CLI::App program;
    const Run work = stage.add(program);
    const CLI::App* command = program.get_subcommands(nullptr).back();
    std::vector<std::string> arguments = {stage.name};
    const auto pass = [&](const char* option, const std::string& value) {
        if (!command->get_option_no_throw(option)) return;
        arguments.push_back(option);
        if (!value.empty()) arguments.push_back(value);
    };
    if (options.jobs > 0) pass("--jobs", std::to_string(options.jobs));
    if (options.quiet) pass("--quiet", "");
    if (stage.option) arguments.emplace_back(stage.option);
    arguments.push_back("--");
    arguments.push_back(options.survey);
    program.parse(std::vector<std::string>(arguments.rbegin(), arguments.rend()));
    return work();
}

/// Where a needed stage refuses its input, so is the run's contrast refused; another one says why,
/// and the tables and what other stages make of them still stand.
ExitCode run_or_refuse(const Stage& stage, const SharedOptions& options) {
    try {
        return run_stage(stage, options);
    } catch (const InputError& error) {
        if (stage.needed) {
            take_away_old_contrast(options.survey, error, result_tables());
            throw;
        }
        log_line(error.problems());
        return ExitCode::some_unusable;
    }
}

ExitCode run(const SharedOptions& options) {
    if (options.dry_run) {
        fmt::print(
            "would run check, measure, tabulate, even, report and contrast, a trial that "
            "trials.csv "
            "names, and anew what is old of a listening score or robustness\n");
        return ExitCode::ok;
    }
    begin_run();
    ExitCode worst = ExitCode::ok;
    for (const Stage& stage : kStages) {
        if (!is_wanted(stage, options.survey)) continue;
        fmt::print("{}{}\n", &stage == kStages ? "" : "\n",
                   bold(fmt::format("== {} ==", stage.name)));
        static_cast<void>(std::fflush(stdout));  // before what the stage says on stderr
        const ExitCode code = run_or_refuse(stage, options);
        if (code == ExitCode::interrupted || interrupted()) return ExitCode::interrupted;
        if (code == ExitCode::machine_failed || (stage.needed && code == ExitCode::nothing_done))
            return code;
        if (code != ExitCode::ok) worst = ExitCode::some_unusable;
        static_cast<void>(std::fflush(stdout));
    }
    return worst;
}

}  // namespace

Run add_run(CLI::App& program) {
    CommandOf<SharedOptions> command(
        program, "run",
        "all of it: check, measure, tabulate, a trial that trials.csv names, even, report, "
        "contrast; a listening score or robustness that is old is made anew");
    command.add_survey();
    command.add_shared_options(true);
    command.example("hearwood run ~/surveys/heath-and-alluvium --jobs 2");
    return command.does(run);
}

}  // namespace hearwood
