// What `plan` says of a season before anybody goes out, as text and tables, and the sheets to take
// along.
#pragma once

#include <chrono>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.h"
#include "base/table.h"
#include "contrast/audit.h"
#include "contrast/power.h"
#include "plan/schedules.h"
#include "plan/visits.h"
#include "survey/survey.h"

namespace hearwood {

/// Everything in the sheets that could pass for an effect of the stand, or spoil one.
struct DesignFindings {
    std::vector<Problem> sheets;     ///< warnings of the sheets' readers
    std::vector<Problem> spacing;    ///< sites too near to each other, trails that cannot be
    std::vector<Finding> confounds;  ///< of the audit, the worst first
};

/// A season as the sheets and the call have it.
struct Plan {
    const Survey& survey;
    StatedSchedule schedule;
    double listening_distance_m = 0;
    std::vector<Visit> visits = {};
    std::vector<std::string> undated = {};  ///< sites and deployments without a date
    DesignFindings findings = {};
};

/// What the sheets alone say about the design; distances have their own section.
DesignFindings design_findings(const Survey& survey, double listening_distance_m);

/// `from`: first date of what has none; `listening_distance_m`: the survey's where nothing is said.
Plan planned(const Survey& survey, const StatedSchedule& schedule,
             std::optional<std::chrono::local_days> from,
             std::optional<double> listening_distance_m);

/// Sun, card and battery, spacing and design, for the terminal.
std::string plan_text(const Plan& plan);

/// The sheets to print, and what was said as tables, all but the power table, into a folder that is
/// there. Errors: MachineError.
void write_plan(const Plan& plan, const std::filesystem::path& folder);

/// A row of design.csv.
struct DesignLine {
    Finding finding;
    std::string code;  ///< of the finding; "spacing" and "sheets" for warnings with a place
    std::string file;
    std::size_t line = 0;
};
TableOf<DesignLine> design_table();
void write_design(const DesignFindings& findings, const std::filesystem::path& path);

/// A row of power.csv.
struct PowerLine {
    const PowerCase& power_case;
    const PowerStep& step;
    std::optional<double> spread;  ///< in the index's unit, where one is known
};
TableOf<PowerLine> power_table();
void write_power(const PowerAnswer& power, const std::filesystem::path& path);

}  // namespace hearwood
