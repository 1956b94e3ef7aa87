// `robustness SURVEY`: does the primary contrast survive other reasonable settings?
#include <fmt/core.h>

#include "aggregate/declarations.h"
#include "aggregate/judged_segments.h"
#include "aggregate/tables.h"
#include "base/file.h"
#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "command/result_tables.h"
#include "contrast/robustness_settings.h"
#include "store/writer_lock.h"

namespace hearwood {
namespace {

ExitCode robustness(const SharedOptions& options) {
    const Survey survey = open_survey(options.survey);
    log_line(survey.warnings);
    const Store measured = Store::open_read_only(survey.folder);
    require_current_results(survey, measured);
    const SettingsPlan plan = plan_settings(survey);
    if (options.dry_run) {
        fmt::print("would measure {} in {} under {} settings of {}\n", printable(plan.index),
                   printable(plan.window), plan.grid.settings.size(),
                   plan.even.empty() ? "the transform and bands" : "noise, choirs and bands");
        return ExitCode::ok;
    }
    note_declaration_if_free(survey, measured, current_time());
    const RobustnessRun run =
        run_robustness(survey, plan, measured, job_count(options), options.quiet);
    if (run.interrupted) {
        log_line("interrupted; what was measured is kept: run the command again");
        return ExitCode::interrupted;
    }
    fmt::print("{}", settings_text(run.result));
    if (!run.idle.empty())
        print_wrapped(fmt::format("Changes nothing for {}, and was left out: {}.",
                                  printable(plan.index), join(run.idle, ", ")));
    if (survey.contrast.primary_index.empty())
        fmt::print(
            "No primary outcome is declared; this is the first index in the first window.\n");
    keep_robustness(survey, measured, run.result);
    const auto turn = lock_results(survey.folder);
    const auto folder = tables_folder(survey.folder);
    make_folder(folder);
    write_robustness(run.result, folder);
    write_data_package(survey, measured, folder, result_tables());
    if (run.failed > 0)
        fmt::print("{} under no setting: not to be opened again\n",
                   counted(run.failed, "recording counts", "recordings count"));
    print_wrapped(printable(robustness_in_words(run.result)) + " See " +
                  printable((folder / "robustness.svg").string()) + ".");
    return run.failed > 0 ? ExitCode::some_unusable : ExitCode::ok;
}

}  // namespace

Run add_robustness(CLI::App& program) {
    CommandOf<SharedOptions> command(
        program, "robustness", "does the primary contrast survive other reasonable settings?");
    command.add_survey();
    command.add_shared_options(true);
    command.example("hearwood robustness ~/surveys/heath-and-alluvium");
    return command.does(robustness);
}

}  // namespace hearwood
