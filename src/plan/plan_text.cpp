#include "plan/plan_text.h"

#include <fmt/core.h>

#include <algorithm>

#include "base/lines.h"
#include "base/text.h"
#include "contrast/audit_inputs.h"
#include "plan/spacing.h"

namespace hearwood {

namespace {

constexpr std::size_t kDesignWarningsShown = 40;

std::string sun_section(const Survey& survey, const std::vector<Visit>& visits,
                        const std::vector<std::string>& undated) {
    std::string text = "\nSunrise and sunset (first and last date, " + survey.time_zone + ")\n";
    text += sun_text(survey, visits);
    if (!undated.empty())
        text +=
            list_entry(fmt::format("no dates for {}: give --from 2031-05-04, or fill start and end",
                                   printable(join(undated, ", "))));
    return text;
}

std::string budget_section(const Survey& survey, const StatedSchedule& stated) {
    std::string text = "\nCard and battery (densest schedule, longest stay)\n";
    text += budget_text(greatest_schedule(survey, stated));
    return text;
}

std::string spacing_section(const std::vector<Problem>& warnings, double listening_distance_m) {
    std::string text = "\nSpacing\n";
    for (std::size_t i = 0; i < std::min(warnings.size(), kDesignWarningsShown); ++i)
        text += list_entry(one_line(warnings[i]));
    if (warnings.size() > kDesignWarningsShown)
        text += list_entry(
            fmt::format("and {} more: see design.csv", warnings.size() - kDesignWarningsShown));
    if (warnings.empty())
        text += list_entry(
            fmt::format("all sites are at least {} m apart (common practice; --listening-distance)",
                        readable_number(listening_distance_m)));
    return text;
}

std::string design_section(const DesignFindings& findings) {
    std::string text = "\nDesign, as the sheets have it\n";
    for (const Problem& warning : findings.sheets) text += list_entry(one_line(warning));
    for (const Finding& finding : findings.confounds) text += list_entry(one_line(finding));
    if (findings.sheets.empty() && findings.confounds.empty())
        text += list_entry("nothing in it that could be mistaken for an effect of the stand");
    return text;
}

}  // namespace

/// What the sheets alone say about the design; distances have their own section.
DesignFindings design_findings(const Survey& survey, double listening_distance_m) {
    DesignFindings findings;
    findings.sheets = survey.warnings;
    findings.spacing = spacing_warnings(survey, listening_distance_m);
    findings.confounds = audit_survey(survey, nullptr, {}).findings;
    std::erase_if(findings.confounds, [](const Finding& finding) {
        return finding.code == FindingCode::same_class_near ||
               finding.code == FindingCode::other_class_near;
    });
    return findings;
}

std::string plan_text(const Plan& plan) {
    return printable(plan.survey.title) + "\n" +
           sun_section(plan.survey, plan.visits, plan.undated) +
           budget_section(plan.survey, plan.schedule) +
           spacing_section(plan.findings.spacing, plan.listening_distance_m) +
           design_section(plan.findings);
}

}  // namespace hearwood
