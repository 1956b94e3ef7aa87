#include "plan/plan_tables.h"

namespace hearwood {

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

void write_power(const PowerCase& power_case, std::span<const PowerStep> steps,
                 std::optional<double> spread, const std::filesystem::path& path) {
    TableFile<PowerLine> table(power_table(), path);
    for (const PowerStep& step : steps) table.add({power_case, step, spread});
    table.commit();
}

}  // namespace hearwood
