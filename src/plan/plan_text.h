// What `plan` says of a season before anybody goes out.
#pragma once

#include <string>
#include <vector>

#include "plan/plan_tables.h"
#include "plan/schedules.h"
#include "plan/visits.h"
#include "survey/survey.h"

namespace hearwood {

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

/// Sun, card and battery, spacing and design, for the terminal.
std::string plan_text(const Plan& plan);

}  // namespace hearwood
