// What the audit of the design needs to know of a survey, from its sheets, its coverage and, once
// it is measured, its segments.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "aggregate/coverage.h"
#include "aggregate/site_values.h"
#include "contrast/audit.h"
#include "survey/survey.h"

namespace hearwood {

/// `values` may be null (not measured yet); `coverages` may be empty. The same sound at two sites
/// is among the findings where `values` tell it.
Audit audit_survey(const Survey& survey, const SiteValues* values,
                   std::span<const DeploymentCoverage> coverages);

}  // namespace hearwood
