// `robustness SURVEY`: does the primary contrast survive other reasonable settings?
#include <fmt/core.h>

#include <memory>
#include <string>

#include "activity/even_grid.h"
#include "aggregate/declarations.h"
#include "aggregate/judged_segments.h"
#include "aggregate/tables.h"
#include "base/file.h"
#include "base/log.h"
#include "base/text.h"
#include "command/command.h"
#include "command/open_survey.h"
#include "command/print.h"
#include "command/result_tables.h"
#include "contrast/kept_results.h"
#include "contrast/robustness_settings.h"
#include "store/writer_lock.h"

namespace hearwood {

namespace {

struct RobustnessOptions {
    std::string survey;
    SharedOptions shared;
};

/// In survey.db, with what it was made under and from.
void keep(const Survey& survey, const Store& measured, const Robustness& result) {
    const std::string fingerprint =
        fingerprint_of(kRobustness, survey, compute_site_values(survey, measured));
    Store store = Store::open(survey.folder);
    store.begin();
    store.keep_result({kRobustness, fingerprint, robustness_json(result)});
    store.commit();
    store.make_durable();
}

/// Without a decision about a sample rate the recordings are others: they are measured once more,
/// under the declared setting. False when interrupted.
bool add_native_rates(const Survey& survey, const SettingsPlan& plan, const Store& measured,
                      const RobustnessOptions& options, Robustness& result) {
    if (!plan.even.empty()) return true;  // at two rates no even terms hold
    for (std::size_t i = 0; i < survey.decisions.size(); ++i) {
        if (survey.decisions[i].kind != Decision::Kind::sample_rate) continue;
        Store native = Store::open_part(survey.folder / "hearwood" / "robustness-rates.db");
        const SettingsGrid declared{plan.grid.index, {plan.grid.settings.front()}};
        if (measure_grid(without_decision(survey, i), measured, native, declared,
                         job_count(options.shared), options.shared.quiet)
                .interrupted)
            return false;
        result.without.push_back(contrast_without(survey, plan, i, measured, native, 1));
    }
    return true;
}

GridSummary measure_variants(const Survey& survey, const SettingsPlan& plan, const Store& measured,
                             Store& grid, const SharedOptions& options) {
    if (plan.even.empty())
        return measure_grid(survey, measured, grid, plan.grid, job_count(options), options.quiet);
    const EvenGrid even{plan.index, plan.window, plan.even, plan.grid.settings,
                        widest_choices(survey, plan)};
    return measure_even_grid(survey, measured, grid, even, job_count(options), options.quiet);
}

ExitCode robustness(const RobustnessOptions& options) {
    const Survey survey = open_survey(options.survey);
    log_line(survey.warnings);
    const Store measured = Store::open_read_only(survey.folder);
    require_current_results(survey, measured);
    const SettingsPlan plan = plan_settings(survey);
    if (options.shared.dry_run) {
        fmt::print("would measure {} in {} under {} settings of {}\n", printable(plan.index),
                   printable(plan.window), plan.grid.settings.size(),
                   plan.even.empty() ? "the transform and bands" : "noise, choirs and bands");
        return ExitCode::ok;
    }
    note_declaration_if_free(survey, measured, current_time());
    Store grid = Store::open_part(survey.folder / "hearwood" / "robustness.db");
    const GridSummary summary = measure_variants(survey, plan, measured, grid, options.shared);
    Robustness result;
    if (!summary.interrupted) result = contrast_settings(survey, plan, measured, grid);
    if (summary.interrupted || !add_native_rates(survey, plan, measured, options, result)) {
        log_line("interrupted; what was measured is kept: run the command again");
        return ExitCode::interrupted;
    }
    const std::vector<std::string> idle = judge_settings(result);

    fmt::print("{}", settings_text(result));
    if (!idle.empty())
        print_wrapped(fmt::format("Changes nothing for {}, and was left out: {}.",
                                  printable(plan.index), join(idle, ", ")));
    if (survey.contrast.primary_index.empty())
        fmt::print(
            "No primary outcome is declared; this is the first index in the first window.\n");
    keep(survey, measured, result);
    const auto turn = lock_results(survey.folder);
    const auto folder = tables_folder(survey.folder);
    make_folder(folder);
    write_whole_file(folder / "robustness.csv", robustness_csv(result));
    write_whole_file(folder / "robustness_grid.csv", robustness_grid_csv(result));
    write_whole_file(folder / "robustness.svg", robustness_svg(result));
    write_data_package(survey, measured, folder, result_tables());
    if (summary.failed > 0)
        fmt::print("{} under no setting: not to be opened again\n",
                   counted(summary.failed, "recording counts", "recordings count"));
    print_wrapped(printable(robustness_in_words(result)) + " See " +
                  printable((folder / "robustness.svg").string()) + ".");
    return summary.failed > 0 ? ExitCode::some_unusable : ExitCode::ok;
}

}  // namespace

Run add_robustness(CLI::App& program) {
    auto options = std::make_shared<RobustnessOptions>();
    Command command(program, "robustness",
                    "does the primary contrast survive other reasonable settings?");
    add_survey(command, options->survey);
    add_shared_options(command, options->shared, true);
    command.example("hearwood robustness ~/surveys/heath-and-alluvium");
    return [options] { return robustness(*options); };
}

}  // namespace hearwood
