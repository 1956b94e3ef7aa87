// What the traces of a deployment point to: battery, card, schedule, clock. The rules stand in
// docs/coverage.md.
#pragma once

#include <span>
#include <vector>

#include "aggregate/coverage.h"

namespace hearwood {

/// Findings, those that cost hours first. `coverage` has its hours and sums.
std::vector<Finding> coverage_findings(const Survey& survey, const Placer& placer,
                                       const DeploymentCoverage& coverage,
                                       std::span<const KnownRecording> recordings);

}  // namespace hearwood
