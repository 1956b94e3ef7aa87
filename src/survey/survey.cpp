#include "survey/survey.h"

#include <algorithm>
#include <set>

#include "base/text.h"
#include "survey/inside.h"
#include "survey/sheets.h"
#include "survey/wrong_rows.h"

namespace hearwood {

namespace {

std::string_view cell_at(const std::vector<std::string>& cells,
                         const std::vector<std::string>& columns, const std::string& column) {
    const auto found = std::find(columns.begin(), columns.end(), column);
    const auto at = static_cast<std::size_t>(found - columns.begin());
    return at < cells.size() ? std::string_view(cells[at]) : std::string_view();
}

void warn_of_empty_sites(Survey& survey, std::vector<Problem>& problems) {
    std::vector<bool> used(survey.sites.size());
    for (const Deployment& deployment : survey.deployments) used[deployment.site] = true;
    std::vector<std::string> unused;
    for (std::size_t i = 0; i < used.size(); ++i)
        if (!used[i]) unused.push_back(survey.sites[i].name);
    if (unused.empty()) return;
    problems.push_back({.file = kDeploymentsFile,
                        .what = "no deployment at " + join(unused, ", "),
                        .fix = "such sites have no values; add a row once a recorder is out",
                        .severity = Severity::warning});
}

/// A slip there would silently turn what makes the stand into a doubt.
void warn_of_unknown_parts(const Survey& survey, std::vector<Problem>& problems) {
    std::vector<std::string> columns = survey.site_columns;
    for (const std::string& column : survey.deployment_columns) {
        columns.push_back(column);
        columns.push_back("deployments." + column);  // where both sheets have it
    }
    for (const std::string& part : survey.stands.part_of_stand) {
        if (std::find(columns.begin(), columns.end(), part) != columns.end()) continue;
        const auto near = nearest(part, columns);
        problems.push_back({.file = kSettingsFile,
                            .field = "[stands] part_of_stand",
                            .value = part,
                            .what = "no column of the sheets is called so",
                            .fix = near ? "did you mean '" + *near + "'?" : "correct the name",
                            .severity = Severity::warning});
    }
}

/// One line for a folder that is something else, instead of one for each sheet.
void refuse_no_survey(const std::filesystem::path& folder) {
    const auto refuse = [&](const char* what) {
        throw InputError({{.file = folder.string(),
                           .what = what,
                           .fix = "name a survey's folder, or make one with: hearwood init DIR"}});
    };
    std::error_code error;
    if (!std::filesystem::is_directory(folder, error)) refuse("there is no such folder");
    for (const char* sheet : {kSettingsFile, kSitesFile, kDeploymentsFile})
        if (std::filesystem::exists(folder / sheet, error)) return;
    refuse("this is no survey: neither survey.toml nor sites.csv nor deployments.csv is in it");
}

}  // namespace

namespace {

/// Errors of rows that a deployment does not need become warnings, in `forgiven` too, and
/// deployments with such a row are left out. What has no row, and the settings, everything needs.
void forgive_others(Survey& survey, const std::string& needed, std::vector<Problem>& problems,
                    std::vector<Problem>& forgiven) {
    std::size_t deployment_line = 0, site_line = 0;
    for (const Deployment& deployment : survey.deployments) {
        if (needed.empty() || deployment.name != needed) continue;
        deployment_line = deployment.line;
        if (deployment.site < survey.sites.size()) site_line = survey.sites[deployment.site].line;
    }
    std::set<std::size_t> wrong;  // rows of deployments.csv
    for (Problem& problem : problems) {
        if (problem.severity != Severity::error) continue;
        const bool of_deployment = problem.file == kDeploymentsFile;
        const bool of_other =
            (of_deployment && problem.of_row && problem.line != deployment_line) ||
            (problem.file == kSitesFile && problem.of_row && problem.line != site_line) ||
            problem.field.starts_with("[stands]");
        if (!of_other) continue;
        if (of_deployment) wrong.insert(problem.line);
        problem.severity = Severity::warning;
        forgiven.push_back(problem);
    }
    std::erase_if(survey.deployments, [&](const Deployment& d) { return wrong.contains(d.line); });
}

/// Settings, sites and deployments, with all that is wrong with them.
Survey read_sheets(const std::filesystem::path& folder, std::vector<Problem>& problems) {
    refuse_no_survey(folder);
    Survey survey;
    survey.folder = folder;
    read_settings(folder, setting_sections(), survey, problems);
    bool all_sites = false;
    read_sites(survey, all_sites, problems);
    read_deployments(survey, all_sites, problems);
    return survey;
}

/// The decisions take effect, and what is only worth a warning is added. Errors: InputError.
void settle(Survey& survey, std::vector<Problem> problems) {
    const std::vector<Problem> links = links_out_of(survey.folder);
    problems.insert(problems.end(), links.begin(), links.end());
    if (any_error(problems)) throw InputError(std::move(problems));
    survey.deployments_as_written = survey.deployments;
    apply_decisions(survey);
    warn_of_empty_sites(survey, problems);
    warn_of_unknown_parts(survey, problems);
    survey.warnings = std::move(problems);
}

}  // namespace

Survey load_survey(const std::filesystem::path& folder) {
    std::vector<Problem> problems;
    Survey survey = read_sheets(folder, problems);
    if (!any_error(problems)) read_decisions(survey, problems);
    settle(survey, std::move(problems));
    return survey;
}

Survey load_usable_survey(const std::filesystem::path& folder) {
    std::vector<Problem> problems;
    Survey survey = read_sheets(folder, problems);
    const bool only_rows =
        std::all_of(problems.begin(), problems.end(), [](const Problem& problem) {
            return problem.severity != Severity::error || problem.of_row;
        });
    if (only_rows) {
        std::vector<Problem> of_decisions;
        read_decisions(survey, of_decisions);
        if (!any_error(of_decisions)) leave_out_wrong_rows(survey, problems);
        problems.insert(problems.end(), of_decisions.begin(), of_decisions.end());
    }
    settle(survey, std::move(problems));
    return survey;
}

Survey load_survey_for(const std::filesystem::path& folder, const std::string& deployment,
                       std::vector<Problem>& forgiven) {
    std::vector<Problem> problems;
    Survey survey = read_sheets(folder, problems);
    forgive_others(survey, deployment, problems, forgiven);
    if (!any_error(problems)) {
        std::vector<Problem> of_decisions;
        read_decisions(survey, of_decisions);
        for (Problem& problem : of_decisions) {
            if (problem.severity == Severity::error) {
                problem.severity = Severity::warning;
                forgiven.push_back(problem);
            }
            problems.push_back(problem);
        }
    }
    settle(survey, std::move(problems));
    return survey;
}

std::set<std::string> blocks_of(const Survey& survey) {
    std::set<std::string> blocks;
    for (const Site& site : survey.sites)
        if (!site.block.empty()) blocks.insert(site.block);
    return blocks;
}

std::string_view cell_in(const Site& site, const Survey& survey, const std::string& column) {
    return cell_at(site.cells, survey.site_columns, column);
}

std::string_view cell_in(const Deployment& deployment, const Survey& survey,
                         const std::string& column) {
    return cell_at(deployment.cells, survey.deployment_columns, column);
}

std::optional<double> number_in(const Site& site, const Survey& survey, const std::string& column) {
    return parse_number(cell_in(site, survey, column));
}

std::optional<double> number_in(const Deployment& deployment, const Survey& survey,
                                const std::string& column) {
    return parse_number(cell_in(deployment, survey, column));
}

std::optional<double> mean_over_deployments(const Survey& survey, std::size_t site,
                                            const std::string& column) {
    double sum = 0;
    int count = 0;
    for (const Deployment& deployment : survey.deployments) {
        if (deployment.site != site) continue;
        if (const auto value = number_in(deployment, survey, column)) {
            sum += *value;
            ++count;
        }
    }
    if (count == 0) return {};
    return sum / count;
}

}  // namespace hearwood
