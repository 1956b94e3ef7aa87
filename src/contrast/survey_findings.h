// Everything that would spoil a survey's result or make it doubtful, gathered from all that looks,
// and as `check` tells it.
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

/// What `check` prints of them, the verdict last: a screen that a tired person reads to the end,
/// some two lines a kind of finding. `all`: every finding by itself, notes too, and deployments
/// with holes hour by hour. `trials`: rows of trials.csv. `title`: how a heading's words are shown.
std::string check_text(const Survey& survey, const SurveyLook& look, const SurveyFindings& found,
                       std::size_t trials, bool all, std::string (*title)(std::string_view));

}  // namespace hearwood
