#include "plan/plan.h"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "base/file.h"
#include "base/lines.h"
#include "base/text.h"
#include "contrast/audit_inputs.h"
#include "plan/printed.h"
#include "plan/spacing.h"
#include "survey/gpx.h"

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

Plan planned(const Survey& survey, const StatedSchedule& schedule,
             std::optional<std::chrono::local_days> from,
             std::optional<double> listening_distance_m) {
    Plan plan{survey, schedule, listening_distance_m.value_or(survey.stands.listening_distance_m)};
    const double days = greatest_schedule(survey, schedule).days;
    plan.visits =
        visits_of(survey, from, std::max(1, static_cast<int>(std::lround(days))), plan.undated);
    plan.findings = design_findings(survey, plan.listening_distance_m);
    return plan;
}

std::string plan_text(const Plan& plan) {
    return printable(plan.survey.title) + "\n" +
           sun_section(plan.survey, plan.visits, plan.undated) +
           budget_section(plan.survey, plan.schedule) +
           spacing_section(plan.findings.spacing, plan.listening_distance_m) +
           design_section(plan.findings);
}

void write_plan(const Plan& plan, const std::filesystem::path& folder) {
    const Survey& survey = plan.survey;
    const std::vector<Visit>& visits = plan.visits;
    const auto schedules_in = [&](const Words& words) {
        std::vector<std::string> schedules;
        for (const Visit& visit : visits)
            schedules.push_back(stated_text(survey, visit, plan.schedule, words));
        return schedules;
    };
    const std::vector<std::string> schedules = schedules_in(Words(survey.language));
    write_whole_file(folder / "deployment-sheet.html",
                     deployment_sheet_html(survey, visits, schedules));
    write_whole_file(folder / "consent-notice.html",
                     consent_notice_html(survey, visits, schedules, schedules_in(Words("en"))));
    write_deployment_csv(survey, visits, folder / "deployment-sheet.csv");
    const std::vector<std::size_t> order = round_trip(survey);
    write_whole_file(folder / "sites.gpx", gpx_of_sites(survey, order));
    write_whole_file(folder / "labels.html", labels_html(survey, visits, order));
    write_sun_times(survey, visits, folder / "sun-times.csv");
    write_budgets(survey, visits, plan.schedule, folder / "budget.csv");
    write_distances(survey, plan.listening_distance_m, folder / "distances.csv");
    write_design(plan.findings, folder / "design.csv");
}

TableOf<DesignLine> design_table() {
    using Line = DesignLine;
    return TableOf<Line>("design.csv", "design",
                         "A row is something in the sheets that could pass for an effect of the "
                         "stand, or spoil one.")
        .column("severity", "", "serious, doubt, note; warning for what the sheets' readers say",
                [](const Line& l) { return word(l.finding.severity); })
        .column("code", "", "what kind of thing it is; docs/findings.md names them all",
                &Line::code)
        .column("subject", "", "what it is about; empty: the whole survey",
                [](const Line& l) { return word(l.finding.subject); })
        .column("file", "", "the sheet it stands in; empty: in none", &Line::file)
        .column("line", "1", "its line there",
                [](const Line& l) { return l.line > 0 ? std::optional(l.line) : std::nullopt; })
        .column("finding", "", "what was seen and how bad it is",
                [](const Line& l) { return l.finding.what; })
        .column("fix", "", "what to do", [](const Line& l) { return l.finding.fix; });
}

void write_design(const DesignFindings& findings, const std::filesystem::path& path) {
    TableFile<DesignLine> table(design_table(), path);
    for (const Finding& finding : findings.confounds)
        table.add({finding, std::string(word(finding.code)), "", 0});
    const auto add = [&](const char* code, const std::vector<Problem>& problems) {
        for (const Problem& problem : problems)
            table.add({{.severity = Severity::warning, .what = problem.what, .fix = problem.fix},
                       code,
                       problem.file,
                       problem.line});
    };
    add("spacing", findings.spacing);
    add("sheets", findings.sheets);
    table.commit();
}

TableOf<PowerLine> power_table() {
    using Line = PowerLine;
    const auto of_case = [](auto PowerCase::*member) {
        return [member](const Line& l) { return l.power_case.*member; };
    };
    const auto of_result = [](auto PowerResult::*member) {
        return [member](const Line& l) { return l.step.result.*member; };
    };
    return TableOf<Line>("power.csv", "power", "A row is a number of sites.")
        .column("sites", "1", "sites a class; with blocks, a class and block",
                [](const Line& l) { return l.step.sites; })
        .column("blocks", "1", "number of blocks; 1: none", of_case(&PowerCase::blocks))
        .column("effect_sd", "1",
                "the difference, in standard deviations of sites within a class (and block)",
                of_case(&PowerCase::effect_sd))
        .column("effect", "",
                "the difference in the index's unit, where --spread or a pilot survey tells it",
                [](const Line& l) -> std::optional<double> {
                    if (!l.spread) return std::nullopt;
                    return l.power_case.effect_sd * *l.spread;
                })
        .column("spread", "", "that standard deviation in the index's unit, where it is known",
                &Line::spread)
        .column("level", "1", "p up to 1 - level counts as seen", of_case(&PowerCase::level))
        .column("power", "1", "share of simulated surveys in which it was seen",
                of_result(&PowerResult::power))
        .column("standard_error", "1", "its error from their number",
                of_result(&PowerResult::standard_error))
        .column("permutations", "1", "of the simulated test", of_result(&PowerResult::permutations))
        .column("p_min", "1",
                "least p that this design can give; power is 0 where it is above 1 - level",
                of_result(&PowerResult::p_min))
        .column("simulations", "1", "how many surveys were simulated",
                of_case(&PowerCase::simulations))
        .column("seed", "1", "what they were drawn from", of_case(&PowerCase::seed));
}

void write_power(const PowerAnswer& power, const std::filesystem::path& path) {
    TableFile<PowerLine> table(power_table(), path);
    for (const PowerStep& step : power.steps) table.add({power.power_case, step, power.spread});
    table.commit();
}

}  // namespace hearwood
