#include "plan/plan_tables.h"

#include "base/csv_writer.h"

namespace hearwood {

namespace {

void problem_rows(CsvWriter& csv, const char* code, std::span<const Problem> problems) {
    for (const Problem& problem : problems) {
        csv.text(word(Severity::warning));
        csv.text(code);
        csv.missing();
        csv.text(problem.file);
        if (problem.line > 0)
            csv.integer(static_cast<std::int64_t>(problem.line));
        else
            csv.missing();
        csv.text(problem.what);
        csv.text(problem.mend);
        csv.end_row();
    }
}

}  // namespace

void write_design(const DesignFindings& findings, const std::filesystem::path& path) {
    const std::vector<std::string> header = {"severity", "code",    "subject", "file",
                                             "line",     "finding", "fix"};
    CsvWriter csv(path, header);
    for (const Finding& finding : findings.confounds) {
        csv.text(word(finding.severity));
        csv.text(word(finding.code));
        csv.text(word(finding.subject));
        csv.missing();
        csv.missing();
        csv.text(finding.what);
        csv.text(finding.fix);
        csv.end_row();
    }
    problem_rows(csv, "spacing", findings.spacing);
    problem_rows(csv, "sheets", findings.sheets);
    csv.commit();
}

void write_power(const PowerCase& power_case, std::span<const PowerStep> steps,
                 std::optional<double> spread, const std::filesystem::path& path) {
    const std::vector<std::string> header = {
        "sites", "blocks",         "effect_sd",    "effect", "spread",      "level",
        "power", "standard_error", "relabellings", "p_min",  "simulations", "seed"};
    CsvWriter csv(path, header);
    for (const PowerStep& step : steps) {
        csv.integer(step.sites);
        csv.integer(power_case.blocks);
        csv.number(power_case.effect_sd);
        csv.number(spread ? std::optional(power_case.effect_sd * *spread) : std::nullopt);
        csv.number(spread);
        csv.number(power_case.level);
        csv.number(step.result.power);
        csv.number(step.result.standard_error);
        csv.integer(step.result.relabellings);
        csv.number(step.result.p_min);
        csv.integer(power_case.simulations);
        csv.integer(static_cast<std::int64_t>(power_case.seed));
        csv.end_row();
    }
    csv.commit();
}

}  // namespace hearwood
