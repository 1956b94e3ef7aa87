// `contrast SURVEY`: every test of a survey, as tables and on the terminal, with what could explain
// it.
#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <string>
#include <vector>

#include "aggregate/declarations.h"
#include "aggregate/judged_segments.h"
#include "aggregate/tables.h"
#include "base/file.h"
#include "base/lines.h"
#include "base/log.h"
#include "base/progress.h"
#include "base/text.h"
#include "command/contrast_modes.h"
#include "command/open_survey.h"
#include "command/print.h"
#include "command/result_tables.h"
#include "command/terminal_look.h"
#include "contrast/answer_text.h"
#include "contrast/contrast_inputs.h"
#include "contrast/kept_results.h"
#include "contrast/survey_contrast.h"
#include "contrast/verdict.h"
#include "store/store.h"
#include "store/writer_lock.h"
#include "survey/inside.h"

namespace hearwood {

namespace {

SurveyContrast computed(const ContrastOptions& options, const Survey& survey, const Store& store,
                        const JudgedSegments& segments, const SiteValues& values,
                        const KeptResults& kept) {
    Progress progress("contrasting", "indices", contrast_steps(values), options.shared.quiet);
    SurveyContrast contrast =
        compute_survey_contrast(survey, store, segments, values, kept.heard(), progress);
    progress.finish();
    return contrast;
}

ExitCode contrast_survey(const ContrastOptions& options) {
    const Survey survey = open_survey(options.survey);
    log_line(survey.warnings);
    const Store store = Store::open_read_only(survey.folder);
    if (!options.shared.dry_run) note_declaration_if_free(survey, store, current_time());
    const auto turn = options.shared.dry_run ? nullptr : lock_results(survey.folder);
    const JudgedSegments segments(survey, store);
    const SiteValues values = compute_site_values(survey, store, segments);
    const KeptResults kept = read_kept_results(survey, &values, store);
    const SurveyContrast contrast = computed(options, survey, store, segments, values, kept);
    fmt::print("{}",
               with_class_colours(answer_text(survey, contrast, kept, options.all, part_of_run()),
                                  survey.stands));

    const std::filesystem::path folder = tables_folder(survey.folder);
    std::string where = "Nothing was written (--dry-run).";
    if (!options.shared.dry_run) {
        write_contrast_tables(contrast, folder);
        write_data_package(survey, store, folder, result_tables());
        where = "See " + printable((folder / "contrasts.csv").string()) + ".";
    }
    fmt::print(
        "{}",
        with_class_colours(
            wrapped(printable(overall_verdict(contrast.contrasts, contrast.plan)) + " " + where, 0),
            survey.stands));
    return ExitCode::ok;
}

/// The data package without the tables that are gone; where it cannot be written, none.
void describe_what_is_left(const std::string& survey_folder) {
    const std::filesystem::path tables = tables_folder(survey_folder);
    std::error_code ignored;
    try {
        const Survey survey = load_usable_survey(survey_folder);
        const Store store = Store::open_read_only(survey.folder);
        write_data_package(survey, store, tables, result_tables());
    } catch (const InputError&) {
        std::filesystem::remove(tables / "datapackage.json", ignored);
    }
}

}  // namespace

void take_away_old_contrast(const std::string& survey_folder, const InputError& refusal) {
    const auto& problems = refusal.problems();
    const bool of_decisions =
        std::any_of(problems.begin(), problems.end(),
                    [](const Problem& problem) { return problem.file == "decisions.csv"; });
    const std::filesystem::path tables = tables_folder(survey_folder);
    std::error_code error;
    if (of_decisions || !std::filesystem::is_directory(tables, error) ||
        !links_out_of(survey_folder).empty() || !any_contrast_table(tables))
        return;
    const auto turn = lock_results(survey_folder);
    remove_contrast_tables(tables);
    describe_what_is_left(survey_folder);
    log_line("contrast was refused, so that the tables of an earlier one were taken away");
}

ExitCode run_contrast_survey(const ContrastOptions& options) {
    try {
        return contrast_survey(options);
    } catch (const InputError& refusal) {
        if (!options.shared.dry_run) take_away_old_contrast(options.survey, refusal);
        throw;
    }
}

ExitCode print_history(const ContrastOptions& options) {
    const Survey survey = open_survey(options.survey);
    const Store store = Store::open_read_only(survey.folder);
    if (!options.shared.dry_run) note_declaration_if_free(survey, store, current_time());
    fmt::print("{}", declaration_history(declarations(store)));
    return ExitCode::ok;
}

}  // namespace hearwood
