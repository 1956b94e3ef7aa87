#include "survey/wrong_rows.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>

#include "survey/sheets.h"

namespace hearwood {

namespace {

using Reasons = std::map<std::size_t, std::string>;  // by line

bool is_of_wrong_row(const Problem& problem, const char* file) {
    return problem.severity == Severity::error && problem.of_row && problem.file == file;
}

Reasons wrong_lines(const std::vector<Problem>& problems, const char* file) {
    Reasons reasons;
    for (const Problem& problem : problems) {
        if (!is_of_wrong_row(problem, file)) continue;
        for (const std::size_t line : {problem.line, problem.other_line}) {
            if (line == 0) continue;
            std::string& reason = reasons[line];
            reason += (reason.empty() ? "" : "; and ") + one_line(problem);
        }
    }
    return reasons;
}

/// What stays, and where it then lies.
template <class Row>
std::vector<std::optional<std::size_t>> places_after(const std::vector<Row>& rows,
                                                     const Reasons& wrong) {
    std::vector<std::optional<std::size_t>> places;
    std::size_t next = 0;
    for (const Row& row : rows)
        places.push_back(wrong.contains(row.line) ? std::nullopt : std::optional(next++));
    return places;
}

/// Deployments that need a row which is wrong.
void add_dependent(const Survey& survey, const Reasons& sites, Reasons& deployments) {
    for (const Deployment& deployment : survey.deployments) {
        const Site& site = survey.sites[deployment.site];
        if (sites.contains(site.line) && !deployments.contains(deployment.line))
            deployments[deployment.line] = fmt::format("its site {} is left out", site.name);
    }
    for (const Decision& decision : survey.decisions) {
        if (decision.kind != Decision::Kind::belongs_to) continue;
        const std::size_t own = survey.deployments[*decision.deployment].line;
        const Deployment& other = survey.deployments[*decision.stands_in];
        if (deployments.contains(other.line) && !deployments.contains(own))
            deployments[own] = fmt::format(
                "its recordings are, by decision, those of {}, which is left out", other.name);
    }
}

bool enough_is_left(const Survey& survey, const Reasons& sites, const Reasons& deployments) {
    std::set<std::string> classes, left;
    bool any_site = false;
    for (const Site& site : survey.sites) {
        classes.insert(site.stand);
        if (sites.contains(site.line)) continue;
        any_site = true;
        left.insert(site.stand);
    }
    const auto lost = [&](const std::string& name) {
        return classes.contains(name) && !left.contains(name);
    };
    const bool any_deployment = std::any_of(
        survey.deployments.begin(), survey.deployments.end(),
        [&](const Deployment& deployment) { return !deployments.contains(deployment.line); });
    return any_site && any_deployment && !lost(survey.stands.class_a) &&
           !lost(survey.stands.class_b);
}

/// Decisions about what is left out wait, which is told; the others get the new places.
void settle_decisions(Survey& survey, const std::vector<std::optional<std::size_t>>& sites,
                      const std::vector<std::optional<std::size_t>>& deployments,
                      std::vector<Problem>& problems) {
    std::vector<Decision> kept;
    for (Decision& decision : survey.decisions) {
        bool waits = false;
        const auto settle = [&](std::optional<std::size_t>& place, const auto& places) {
            if (!place) return;
            place = places[*place];
            waits = waits || !place;
        };
        settle(decision.site, sites);
        settle(decision.deployment, deployments);
        settle(decision.stands_in, deployments);
        if (waits)
            problems.push_back({.file = kDecisionsFile,
                                .line = decision.line,
                                .value = decision.subject,
                                .what = "this decision waits: what it is about is left out, since "
                                        "its row in the sheets is wrong",
                                .fix = "correct that row",
                                .severity = Severity::warning});
        else
            kept.push_back(std::move(decision));
    }
    survey.decisions = std::move(kept);
}

}  // namespace

void leave_out_wrong_rows(Survey& survey, std::vector<Problem>& problems) {
    const Reasons wrong_sites = wrong_lines(problems, kSitesFile);
    Reasons wrong_deployments = wrong_lines(problems, kDeploymentsFile);
    if (wrong_sites.empty() && wrong_deployments.empty()) return;
    add_dependent(survey, wrong_sites, wrong_deployments);
    if (!enough_is_left(survey, wrong_sites, wrong_deployments)) return;
    for (const Site& site : survey.sites)
        if (const auto wrong = wrong_sites.find(site.line); wrong != wrong_sites.end())
            survey.left_out.push_back({true, site.name, wrong->second});
    for (const Deployment& deployment : survey.deployments)
        if (const auto wrong = wrong_deployments.find(deployment.line);
            wrong != wrong_deployments.end())
            survey.left_out.push_back({false, deployment.name, wrong->second});
    std::erase_if(problems, [](const Problem& problem) {
        return is_of_wrong_row(problem, kSitesFile) || is_of_wrong_row(problem, kDeploymentsFile);
    });
    const auto sites = places_after(survey.sites, wrong_sites);
    const auto deployments = places_after(survey.deployments, wrong_deployments);
    settle_decisions(survey, sites, deployments, problems);
    std::erase_if(survey.sites, [&](const Site& s) { return wrong_sites.contains(s.line); });
    std::erase_if(survey.deployments,
                  [&](const Deployment& d) { return wrong_deployments.contains(d.line); });
    for (Deployment& deployment : survey.deployments)
        deployment.site = sites[deployment.site].value();
}

}  // namespace hearwood
