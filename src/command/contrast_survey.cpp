// `contrast SURVEY`: every test of a survey, as tables and on the terminal, with what could explain
// it.
#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <string>
#include <vector>

#include "aggregate/applied_steps.h"
#include "aggregate/card_evidence.h"
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
#include "contrast/beside.h"
#include "contrast/contrast_inputs.h"
#include "contrast/kept_results.h"
#include "contrast/survey_contrast.h"
#include "contrast/verdict.h"
#include "store/store.h"
#include "store/writer_lock.h"
#include "survey/inside.h"

namespace hearwood {

namespace {

/// What could explain the primary contrast (any contrast, where none is declared).
void print_findings(const Audit& audit) {
    std::string text;
    for (const Finding& finding : audit.findings)
        if (can_explain(finding.code) && !(part_of_run() && is_of_card(finding.code)))
            text += wrapped("  " + one_line(finding), 4);
    if (text.empty())
        print_wrapped(
            "The audit of the design found nothing else that could explain a difference. " +
            audit.looked_at + " " + unseen_by_audit());
    else
        fmt::print("What else could explain a difference between the classes\n{}", text);
}

/// What a person decided about the data; in a run check has said it.
void print_decisions(const Audit& audit) {
    if (part_of_run()) return;
    std::string text;
    for (const Finding& finding : audit.findings)
        if (finding.code == FindingCode::decision) text += wrapped("  " + one_line(finding), 4);
    if (!text.empty()) fmt::print("Decisions about the data\n{}", text);
}

void print_profile(const std::vector<NamedProfile>& profiles, const ContrastPlan& plan, bool all) {
    constexpr std::size_t kShown = 10;
    std::vector<std::pair<std::ptrdiff_t, std::string>> clear;
    for (const NamedProfile& named : profiles) {
        const auto hours = std::count_if(
            named.profile.steps.begin(), named.profile.steps.end(),
            [&](const ProfileStep& step) { return reaches(step.p_adjusted, plan.level); });
        if (hours > 0) clear.emplace_back(hours, named.index);
    }
    if (clear.empty()) {
        print_wrapped("By hour: no hour differs once all hours of an index are considered.", 2);
        return;
    }
    std::stable_sort(clear.begin(), clear.end(),
                     [](const auto& one, const auto& other) { return one.first > other.first; });
    std::vector<std::string> names;
    for (const auto& [hours, index] : clear)
        if (all || names.size() < kShown)
            names.push_back(fmt::format("{} in {}", index, counted(hours, "hour")));
    std::string text =
        "By hour (adjusted over the hours of an index) the classes differ in " + join(names, ", ");
    if (names.size() < clear.size())
        text +=
            fmt::format(", and in fewer hours in {}",
                        counted(clear.size() - names.size(), "further index", "further indices"));
    print_wrapped(text + ".", 2);
}

void print_nearby(const Survey& survey, const SurveyContrast& contrast) {
    if (!contrast.nearby_as_one) return;
    print_wrapped(fmt::format("With sites nearer than {} m counted as one: {}",
                              readable_number(survey.stands.listening_distance_m),
                              printable(contrast.nearby_as_one->verdict)),
                  2);
}

void print_seasons(const SurveyContrast& results) {
    const ContrastRow* shown = results.shown();
    for (const SeasonRow& row : results.seasons)
        if (shown && row.index == shown->index && row.window == shown->window)
            print_wrapped("Seasons: " + printable(row.verdict), 2);
}

void print_next_season(const SurveyContrast& results) {
    const ContrastRow* row = results.shown();
    if (!row) return;
    for (const VarianceRow& variance : results.variances)
        if (variance.index == row->index && variance.window == row->window)
            print_wrapped(fmt::format("Next season ({}, {}): {}", row->index, row->window,
                                      next_season(variance.components, *row)),
                          2);
}

SurveyContrast computed(const ContrastOptions& options, const Survey& survey, const Store& store,
                        const JudgedSegments& segments, const SiteValues& values,
                        const KeptResults& kept) {
    Progress progress("contrasting", "indices", contrast_steps(values), options.shared.quiet);
    SurveyContrast contrast =
        compute_survey_contrast(survey, store, segments, values, kept.heard(), progress);
    progress.finish();
    return contrast;
}

/// What goes without for wrong rows of the sheets: beside the answer, in a run too.
void print_left_out(const Survey& survey) {
    if (const std::string left_out = left_out_in_words(survey); !left_out.empty())
        print_wrapped("Left out of all of this, for their rows in the sheets are wrong: " +
                          printable(left_out) + ". Correct the rows and run again.",
                      2);
}

void print_all(const Survey& survey, const SurveyContrast& contrast, const KeptResults& kept,
               bool all_rows) {
    print_primary(contrast.contrasts, contrast.heard);
    print_findings(contrast.audit);
    print_decisions(contrast.audit);
    print_left_out(survey);
    print_nearby(survey, contrast);
    if (const ContrastRow* shown = contrast.shown())
        for (const std::string& sentence : beside_in_words(contrast.beside, *shown, contrast.plan))
            print_wrapped(printable(sentence), 2);
    print_seasons(contrast);
    if (!kept.is_old(kListening)) print_wrapped(listening_remark(contrast.plan));
    for (const Finding& old : told_as_old(kept)) print_wrapped(sentences(old));
    fmt::print("\n");
    print_secondary(contrast.contrasts, all_rows, contrast.heard);
    if (contrast.more_classes) print_more_classes(contrast.pairs, contrast.classes);
    print_profile(contrast.hours, contrast.plan, all_rows);
    if (contrast.shown())
        print_wrapped("Hours and bands: " +
                          printable(patterns_in_words(contrast.beside.patterns, contrast.plan)),
                      2);
    print_next_season(contrast);
    fmt::print("\n");
}

}  // namespace

namespace {

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
    print_all(survey, contrast, kept, options.all);

    const std::filesystem::path folder = tables_folder(survey.folder);
    std::string where = "Nothing was written (--dry-run).";
    if (!options.shared.dry_run) {
        write_contrast_tables(contrast, folder);
        write_data_package(survey, store, folder, result_tables());
        where = "See " + printable((folder / "contrasts.csv").string()) + ".";
    }
    print_wrapped(printable(overall_verdict(contrast.contrasts, contrast.plan)) + " " + where);
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
