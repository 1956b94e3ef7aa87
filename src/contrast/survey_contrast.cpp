#include "contrast/survey_contrast.h"

#include <fmt/core.h>

#include <algorithm>
#include <set>
#include <utility>

#include "aggregate/tables.h"
#include "base/file.h"
#include "base/interrupt.h"
#include "base/log.h"
#include "base/progress.h"
#include "base/text.h"
#include "contrast/audit.h"
#include "contrast/audit_inputs.h"
#include "contrast/classes.h"
#include "contrast/contrast.h"
#include "contrast/contrast_inputs.h"
#include "contrast/covariates.h"
#include "contrast/nuisance.h"
#include "contrast/onset.h"
#include "contrast/patterns.h"
#include "contrast/profile.h"
#include "contrast/robustness.h"
#include "contrast/seasons.h"
#include "contrast/variance.h"
#include "contrast/verdict.h"
#include "store/writer_lock.h"
#include "survey/inside.h"

namespace hearwood {

namespace {

/// Files that a contrast writes, or takes away where it has nothing to say.
std::vector<std::string> contrast_files() {
    std::vector<std::string> files;
    for (const TableDescription& table : contrast_tables())
        if (!table.path.starts_with("robustness")) files.push_back(table.path);
    return files;
}

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
    problem.fix = "name an index (" + join(indices, ", ") + ") and one of the windows";
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

/// Profiles, variances and effort curves of one index.
void add_index(const Survey& survey, const SiteValues& values, int column,
               SurveyContrast& results) {
    const std::string& name = values.columns[static_cast<std::size_t>(column)].name;
    const ContrastPlan& plan = results.plan;
    results.hours.push_back({name, contrast_profile(hour_profile(survey, values, column), plan)});
    results.dawn.push_back({name, contrast_profile(dawn_profile(survey, values, column), plan)});
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
}

/// The shown outcome with sites that hear the same animals as one.
std::optional<ContrastRow> with_near_sites_as_one(const Survey& survey,
                                                  const std::vector<SiteValue>& values,
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
    const auto groups = nearby_groups(sites, survey.stands.listening_distance_m);
    if (groups.empty()) return std::nullopt;
    std::vector<Unit> units;
    for (const SiteValue& value : values)
        if (value.index == shown.index && value.window == shown.window) units.push_back(value.unit);
    std::vector<SiteValue> merged;
    for (const Unit& unit : with_groups_as_one(units, groups))
        merged.push_back({shown.index, shown.window, unit});
    plan.primary_index = shown.index;
    plan.primary_window = shown.window;
    return contrast_table(merged, plan).front();
}

}  // namespace

const ContrastRow* SurveyContrast::shown() const {
    for (const ContrastRow& row : contrasts)
        if (row.role == Role::primary) return &row;
    return contrasts.empty() ? nullptr : &contrasts.front();
}

std::size_t contrast_steps(const SiteValues& values) {
    return contrasted_columns(values).size();
}

SurveyContrast compute_survey_contrast(const Survey& survey, const Store& store,
                                       const JudgedSegments& segments, const SiteValues& values,
                                       std::vector<ListeningResult> heard, Progress& progress) {
    refuse_mixed_rates(survey, values);
    SurveyContrast results;
    results.plan = contrast_plan(survey, heard);
    results.plan.beside_even = values.beside_even;
    results.heard = std::move(heard);
    results.audit = audit_survey(survey, &values, {});
    if (const Finding* worst = worst_explanation(results.audit.findings))
        results.plan.confounder = confounder_of(*worst);
    const ContrastPlan& plan = results.plan;
    const std::vector<SiteValue> rows = contrast_values(survey, values);
    check_primary(plan, rows);
    results.contrasts = contrast_table(rows, plan);
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
        add_index(survey, values, column, results);
        progress.add();
    }
    results.beside = compute_beside(survey, store, segments, values, rows, plan);
    if (const ContrastRow* shown = results.shown()) {
        results.nearby_as_one = with_near_sites_as_one(survey, rows, *shown, plan);
        if (auto finding = spread_finding(*shown))
            results.audit.findings.push_back(std::move(*finding));
        worst_first(results.audit.findings);
    }
    return results;
}

std::string NamedTable::bytes() const {
    std::string bytes = csv_line(header_of(description));
    for (const std::vector<TableCell>& row : rows) bytes += csv_line(row);
    return bytes;
}

std::vector<NamedTable> tables_of(const SurveyContrast& contrast) {
    std::vector<NamedTable> tables = {
        named_table(contrasts_table(), contrast.contrasts),
        named_table(profile_table(), profile_rows(contrast.hours)),
        named_table(dawn_profile_table(), profile_rows(contrast.dawn)),
        named_table(onset_table(), contrast.onsets),
        named_table(contrasts_table("onset_contrasts.csv"), contrast.onset_contrasts),
        named_table(covariates_table(), contrast.covariates),
        named_table(audit_table(), contrast.audit.numbers),
        named_table(variance_table(contrast.plan.level), contrast.variances),
        named_table(effort_table(), contrast.efforts)};
    if (!contrast.seasons.empty()) tables.push_back(named_table(seasons_table(), contrast.seasons));
    if (contrast.more_classes) {
        tables.push_back(named_table(contrasts_table("pairs.csv"), contrast.pairs));
        tables.push_back(named_table(classes_table(), contrast.classes));
    }
    const BesideContrast& beside = contrast.beside;
    if (!beside.adjusted.empty()) tables.push_back(named_table(adjusted_table(), beside.adjusted));
    if (!beside.gradient.empty()) tables.push_back(named_table(gradient_table(), beside.gradient));
    if (beside.patterns.reason.empty()) {
        tables.push_back(named_table(composition_table(), std::span(&beside.patterns, 1)));
        tables.push_back(named_table(ordination_table(), ordination_rows(beside.patterns)));
        tables.push_back(named_table(day_pitch_table(), day_pitch_rows(beside.patterns)));
    }
    return tables;
}

void write_contrast_tables(const SurveyContrast& contrast, const std::filesystem::path& folder) {
    make_folder(folder);
    std::set<std::string> written;
    for (const NamedTable& table : tables_of(contrast)) {
        write_whole_file(folder / table.description.path, table.bytes());
        written.insert(table.description.path);
    }
    std::error_code ignored;
    for (const std::string& file : contrast_files())
        if (!written.contains(file)) std::filesystem::remove(folder / file, ignored);
}

void take_away_old_contrast(const std::filesystem::path& survey_folder, const InputError& refusal,
                            std::span<const TableDescription> tables) {
    const auto& problems = refusal.problems();
    const bool of_decisions =
        std::any_of(problems.begin(), problems.end(),
                    [](const Problem& problem) { return problem.file == "decisions.csv"; });
    const std::filesystem::path folder = tables_folder(survey_folder);
    const std::vector<std::string> files = contrast_files();
    const bool any = std::any_of(files.begin(), files.end(), [&](const std::string& file) {
        std::error_code ignored;
        return std::filesystem::exists(folder / file, ignored);
    });
    if (of_decisions || !any || !links_out_of(survey_folder).empty()) return;
    const auto turn = lock_results(survey_folder);
    std::error_code ignored;
    for (const std::string& file : files) std::filesystem::remove(folder / file, ignored);
    try {
        const Survey survey = load_usable_survey(survey_folder);
        write_data_package(survey, Store::open_read_only(survey.folder), folder, tables);
    } catch (const InputError&) {  // it cannot be written: then none
        std::filesystem::remove(folder / "datapackage.json", ignored);
    }
    log_line("contrast was refused, so that the tables of an earlier one were taken away");
}

std::vector<TableDescription> contrast_tables() {
    std::vector<Factor> factors;
    for (const FactorMeaning& factor : kFactorMeanings) factors.push_back({factor.name, {}});
    constexpr double kAnyLevel = 0.95;
    return {contrasts_table().description(),
            contrasts_table("pairs.csv", "other pairs of classes",
                            "As contrasts.csv, for every pair of classes but the declared one.")
                .description(),
            classes_table().description(),
            profile_table().description(),
            dawn_profile_table().description(),
            onset_table().description(),
            contrasts_table("onset_contrasts.csv", "contrasts of the onset",
                            "As contrasts.csv, for the onset of the dawn chorus (minutes from "
                            "sunrise).")
                .description(),
            covariates_table().description(),
            adjusted_table().description(),
            gradient_table().description(),
            composition_table().description(),
            ordination_table().description(),
            day_pitch_table().description(),
            audit_table().description(),
            seasons_table().description(),
            variance_table(kAnyLevel).description(),
            effort_table().description(),
            robustness_table().description(),
            robustness_grid_table(factors).description()};
}

}  // namespace hearwood
