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
#include "base/interrupt.h"
#include "base/lines.h"
#include "base/progress.h"
#include "base/say.h"
#include "base/text.h"
#include "command/audit_inputs.h"
#include "command/contrast_beside.h"
#include "command/contrast_inputs.h"
#include "command/contrast_modes.h"
#include "command/print.h"
#include "command/result_tables.h"
#include "contrast/declared.h"
#include "contrast/listening.h"
#include "contrast/nearby.h"
#include "contrast/verdict.h"
#include "store/store.h"
#include "store/writer_lock.h"

namespace hearwood {

namespace {

/// Everything that is computed, before anything is written.
struct Results {
    std::vector<ContrastRow> contrasts, pairs, onset_contrasts;
    std::vector<ClassesRow> classes;
    std::vector<NamedProfile> hours, dawn;
    std::vector<OnsetRow> onsets;
    std::vector<CovariateRow> covariates;
    std::vector<VarianceRow> variances;
    std::vector<EffortRow> efforts;
    std::vector<ListeningResult> heard;  ///< of the listening check
    std::vector<SeasonRow> seasons;      ///< empty unless several
    bool more_classes = false;
};

void refuse_mixed_rates(const Survey& survey, const SiteValues& values) {
    for (const Finding& finding : mixed_sample_rates(survey, values))
        throw InputError("recordings: " + finding.what, finding.fix);
}

void check_primary(const ContrastPlan& plan, const std::vector<SiteValue>& values) {
    if (plan.primary_index.empty()) return;
    std::vector<std::string> indices;
    for (const SiteValue& value : values) {
        if (value.index == plan.primary_index && value.window == plan.primary_window) return;
        if (indices.empty() || indices.back() != value.index) indices.push_back(value.index);
    }
    Problem problem;
    problem.file = "survey.toml";
    problem.field = "contrast.primary";
    problem.value = plan.primary_index + " in " + plan.primary_window;
    problem.what = "no such index and window are contrasted";
    problem.mend = "name an index (" + join(indices, ", ") + ") and one of the windows";
    throw InputError({problem});
}

/// Beside each index's verdict, how it followed the ear in this survey.
void mark_listening(const std::vector<ListeningResult>& heard, std::vector<ContrastRow>& rows) {
    for (ContrastRow& row : rows)
        if (const std::string mark = listening_mark(heard, row.index); !mark.empty())
            row.verdict += fmt::format(" In the listening check {} {}.", row.index, mark);
}

const ContrastRow* row_of(const std::vector<ContrastRow>& rows, const std::string& index,
                          const std::string& window) {
    for (const ContrastRow& row : rows)
        if (row.index == index && row.window == window) return &row;
    return nullptr;
}

Results compute(const Survey& survey, const SiteValues& values, const ContrastPlan& plan,
                Progress& progress) {
    Results results;
    const std::vector<SiteValue> rows = contrast_values(survey, values);
    check_primary(plan, rows);
    results.contrasts = contrast_table(rows, plan);
    results.heard = read_listening(tables_folder(survey.folder));
    mark_listening(results.heard, results.contrasts);
    results.more_classes = classes_in(rows).size() > 2;
    if (results.more_classes) {
        results.pairs = other_pairs(rows, plan);
        results.classes = classes_table(rows, plan);
    }
    std::vector<std::string> seasons;
    for (const SeasonMeans& season : values.seasons) seasons.push_back(season.name);
    results.seasons = season_table(season_values(survey, values), seasons, plan);
    results.onsets = onset_rows(survey, values);
    ContrastPlan onset_plan = plan;
    onset_plan.primary_index.clear();
    onset_plan.primary_window.clear();
    onset_plan.matters.reset();
    results.onset_contrasts = contrast_table(onset_values(survey, results.onsets), onset_plan);
    results.covariates = covariate_rows(survey, rows);
    for (const int column : contrasted_columns(values)) {
        stop_if_interrupted();
        const std::string& name = values.columns[column].name;
        results.hours.push_back(
            {name, contrast_profile(hour_profile(survey, values, column), plan)});
        results.dawn.push_back(
            {name, contrast_profile(dawn_profile(survey, values, column), plan)});
        for (std::size_t w = 0; w < values.windows.size(); ++w) {
            const std::vector<DateValue> dates =
                date_values(survey, values, column, static_cast<int>(w));
            const VarianceComponents components = variance_components(dates, plan);
            const ContrastRow* row = row_of(results.contrasts, name, values.windows[w]);
            results.variances.push_back(
                {name, values.windows[w], components, row && can_advise(components, *row)});
            for (const EffortPoint& point : effort_curve(dates, plan))
                results.efforts.push_back({name, values.windows[w], point});
        }
        progress.add();
    }
    return results;
}

void write(const Results& results, const ContrastPlan& plan, const std::filesystem::path& folder) {
    make_folder(folder);
    write_whole_file(folder / "contrasts.csv", contrasts_csv(results.contrasts));
    write_whole_file(folder / "profile.csv", csv_of(profile_table(), profile_rows(results.hours)));
    write_whole_file(folder / "dawn_profile.csv",
                     csv_of(dawn_profile_table(), profile_rows(results.dawn)));
    write_whole_file(folder / "onset.csv", onset_csv(results.onsets));
    write_whole_file(folder / "onset_contrasts.csv", contrasts_csv(results.onset_contrasts));
    write_whole_file(folder / "covariates.csv", covariates_csv(results.covariates));
    write_whole_file(folder / "variance.csv", variance_csv(results.variances, plan.level));
    std::error_code ignored;
    if (results.seasons.empty())
        std::filesystem::remove(folder / "seasons.csv", ignored);
    else
        write_whole_file(folder / "seasons.csv", seasons_csv(results.seasons));
    write_whole_file(folder / "effort.csv", effort_csv(results.efforts));
    if (results.more_classes) {
        write_whole_file(folder / "pairs.csv", contrasts_csv(results.pairs));
        write_whole_file(folder / "classes.csv", classes_csv(results.classes));
        return;
    }
    // Left by an earlier run with more classes, they would tell of another survey.
    std::filesystem::remove(folder / "pairs.csv", ignored);
    std::filesystem::remove(folder / "classes.csv", ignored);
}

const ContrastRow& primary_of(const std::vector<ContrastRow>& rows) {
    for (const ContrastRow& row : rows)
        if (row.role == Role::primary) return row;
    return rows.front();
}

/// What could explain the primary contrast (any contrast, where none is declared).
void print_findings(const Audit& audit) {
    std::string text;
    for (const Finding& finding : audit.findings)
        if (can_explain(finding.code)) text += wrapped("  " + one_line(finding), 4);
    if (text.empty())
        print_wrapped(
            "The audit of the design found nothing else that could explain a difference. " +
            audit.looked_at + " " + unseen_by_audit());
    else
        fmt::print("What else could explain a difference between the classes\n{}", text);
}

void print_profile(const std::vector<NamedProfile>& profiles, const ContrastPlan& plan) {
    std::size_t hours = 0;
    std::vector<std::string> names;
    for (const NamedProfile& named : profiles) {
        const auto clear = std::count_if(
            named.profile.steps.begin(), named.profile.steps.end(),
            [&](const ProfileStep& step) { return reaches(step.p_adjusted, plan.level); });
        hours += static_cast<std::size_t>(clear);
        if (clear > 0) names.push_back(fmt::format("{} in {}", named.index, clear));
    }
    if (hours == 0)
        fmt::print("By hour: no hour differs once all hours of an index are considered.\n");
    else
        print_wrapped("By hour (adjusted over the hours of an index): " + join(names, ", ") +
                          (hours == 1 ? " hour." : " hours."),
                      2);
}

/// The primary contrast (the first, where none is declared) with sites that hear the same animals
/// as one.
void print_nearby(const Survey& survey, const std::vector<SiteValue>& values,
                  const ContrastRow& shown, ContrastPlan plan) {
    std::vector<AuditSite> sites;
    for (const Site& site : survey.sites) {
        AuditSite& place = sites.emplace_back();
        place.site = site.name;
        place.stand = site.stand;
        place.block = site.block;
        place.latitude = site.latitude;
        place.longitude = site.longitude;
    }
    const double metres = survey.stands.listening_distance_m;
    const auto groups = nearby_groups(sites, metres);
    if (groups.empty()) return;
    std::vector<Unit> units;
    for (const SiteValue& value : values)
        if (value.index == shown.index && value.window == shown.window) units.push_back(value.unit);
    std::vector<SiteValue> merged;
    for (const Unit& unit : with_groups_as_one(units, groups))
        merged.push_back({shown.index, shown.window, unit});
    plan.primary_index = shown.index;
    plan.primary_window = shown.window;
    print_wrapped(
        fmt::format("With sites nearer than {} m counted as one: {}", readable_number(metres),
                    printable(contrast_table(merged, plan).front().verdict)),
        2);
}

void print_seasons(const Results& results) {
    if (results.seasons.empty()) return;
    const ContrastRow& primary = primary_of(results.contrasts);
    for (const SeasonRow& row : results.seasons)
        if (row.index == primary.index && row.window == primary.window)
            print_wrapped("Seasons: " + printable(row.verdict), 2);
}

void print_next_season(const Results& results) {
    if (results.contrasts.empty()) return;
    const ContrastRow& row = primary_of(results.contrasts);
    for (const VarianceRow& variance : results.variances)
        if (variance.index == row.index && variance.window == row.window)
            print_wrapped(fmt::format("Next season ({}, {}): {}", row.index, row.window,
                                      next_season(variance.components, row)),
                          2);
}

}  // namespace

ExitCode run_contrast_survey(const ContrastOptions& options) {
    const Survey survey = load_survey(options.survey);
    say(survey.warnings);
    const Store store = Store::open_read_only(survey.folder);
    if (!options.shared.dry_run) note_declaration_if_free(survey, store, current_time());
    const auto turn = options.shared.dry_run ? nullptr : lock_results(survey.folder);
    const SiteValues values = compute_site_values(survey, store);
    refuse_mixed_rates(survey, values);
    ContrastPlan plan = contrast_plan(survey, tables_folder(survey.folder));
    const Audit audit = audit_survey(survey, &values, {});
    if (const Finding* worst = worst_explanation(audit.findings))
        plan.confounder = confounder_of(*worst);

    Progress progress("contrasting", "indices", contrasted_columns(values).size(),
                      options.shared.quiet);
    const Results results = compute(survey, values, plan, progress);
    const BesideContrast beside =
        compute_beside(survey, store, contrast_values(survey, values), plan);
    progress.finish();

    print_contrasts(results.contrasts, options.all, results.heard);
    if (results.more_classes) print_more_classes(results.pairs, results.classes);
    print_profile(results.hours, plan);
    if (!results.contrasts.empty()) print_beside(beside, primary_of(results.contrasts), plan);
    print_seasons(results);
    print_next_season(results);
    fmt::print("\n");
    Audit with_spread = audit;
    if (!results.contrasts.empty())
        if (auto finding = spread_finding(primary_of(results.contrasts)))
            with_spread.findings.push_back(std::move(*finding));
    worst_first(with_spread.findings);
    print_findings(with_spread);
    if (!results.contrasts.empty())
        print_nearby(survey, contrast_values(survey, values), primary_of(results.contrasts), plan);
    fmt::print("{}\n", wrapped(listening_remark(plan)));

    const std::filesystem::path folder = tables_folder(survey.folder);
    std::string where = "Nothing was written (--dry-run).";
    if (!options.shared.dry_run) {
        write(results, plan, folder);
        write_beside(beside, folder);
        write_table(audit_table(), audit.numbers, folder / "audit.csv");
        write_data_package(survey, store, folder, result_tables());
        where = "See " + printable((folder / "contrasts.csv").string()) + ".";
    }
    print_wrapped(printable(overall_verdict(results.contrasts, plan)) + " " + where);
    return ExitCode::ok;
}

ExitCode print_history(const ContrastOptions& options) {
    const Survey survey = load_survey(options.survey);
    const Store store = Store::open_read_only(survey.folder);
    if (!options.shared.dry_run) note_declaration_if_free(survey, store, current_time());
    fmt::print("{}", declaration_history(declarations(store)));
    return ExitCode::ok;
}

}  // namespace hearwood
