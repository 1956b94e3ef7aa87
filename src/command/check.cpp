// `check SURVEY`: everything that would spoil the result, before hours are spent.
#include <fmt/core.h>

#include "aggregate/coverage_table.h"
#include "aggregate/decided.h"
#include "aggregate/survey_look.h"
#include "aggregate/tables.h"
#include "base/file.h"
#include "base/log.h"
#include "card/offload_note.h"
#include "command/command.h"
#include "command/terminal_look.h"
#include "contrast/survey_findings.h"
#include "store/writer_lock.h"
#include "survey/trials.h"

namespace hearwood {
namespace {

struct CheckOptions : SharedOptions {
    bool all = false;
};

/// By name.
std::set<std::string> deployments_half_copied(const Survey& survey, const Store& store) {
    std::set<std::string> names;
    for (const Deployment& deployment : survey.deployments)
        if (half_copied(store, deployment.name)) names.insert(deployment.name);
    return names;
}

ExitCode check(const CheckOptions& options) {
    const Survey survey = open_survey(options.survey);
    const Store store = Store::open_or_empty(survey.folder);
    refuse_idle_decisions(survey, store);
    const std::vector<Trial> trials = usable_trials(survey);
    const SurveyLook look = look_at_survey(survey, store, options.quiet);
    if (look.interrupted) return ExitCode::interrupted;
    // In a run the contrast tells what of the design could explain it.
    const SurveyFindings found = everything_found(
        survey, store, look, deployments_half_copied(survey, store), !part_of_run());
    fmt::print("{}", check_text(survey, look, found, trials.size(), options.all, bold));
    if (!options.dry_run) {
        const auto turn = lock_results(survey.folder);
        make_folder(tables_folder(survey.folder));
        write_coverage(survey, look.coverages, tables_folder(survey.folder) / "coverage.csv");
    }
    return look.unusable.empty() && look.missing_folders.empty() ? ExitCode::ok
                                                                 : ExitCode::some_unusable;
}

}  // namespace

Run add_check(CLI::App& program) {
    CommandOf<CheckOptions> command(
        program, "check",
        "sheets, recordings, coverage, clocks and design: everything that would spoil the result");
    command.add_survey();
    command.add_flag("--all", command->all,
                     "every finding by itself, and deployments with holes hour by hour");
    command.add_shared_options(true);
    command.example("hearwood check ~/surveys/heath-and-alluvium");
    return command.does(check);
}

}  // namespace hearwood
