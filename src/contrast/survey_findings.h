// Everything that would spoil a survey's result or make it doubtful, gathered from all that looks.
#pragma once

#include <set>
#include <string>
#include <vector>

#include "aggregate/survey_look.h"
#include "base/finding.h"

namespace hearwood {

struct SurveyFindings {
    std::vector<Finding> findings;  ///< of all kinds and weights, in the order of the look
    std::string audit_looked_at;    ///< what the audit of the design could and could not see
};

/// `half_copied`: deployments whose last offload did not prove every file of the card; their holes
/// may be those of the copying. `with_confounds`: also what of the design could explain a
/// difference, which a contrast tells itself.
SurveyFindings everything_found(const Survey& survey, const Store& store, const SurveyLook& look,
                                const std::set<std::string>& half_copied, bool with_confounds);

}  // namespace hearwood
