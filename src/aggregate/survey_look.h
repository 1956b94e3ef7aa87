// All recordings of a survey held against its sheets without measuring them: what is in the store
// is taken from there, the rest is opened just far enough to know its start, shape and damage.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "aggregate/coverage.h"
#include "aggregate/known_recordings.h"
#include "aggregate/site_values.h"
#include "measure/same_content.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct SurveyLook {
    std::size_t found = 0, measured = 0;
    std::uint64_t bytes = 0;
    double seconds = 0;
    std::vector<Finding> unusable;          ///< recordings that an exit code 1 tells of
    std::vector<Finding> odd;               ///< recordings that are usable, and yet worth a look
    std::vector<Finding> missing_folders;   ///< deployments whose folder cannot be listed
    std::vector<SameContent> same_content;  ///< the same sound under two deployments
    std::vector<DeploymentCoverage> coverages;  ///< by deployment name
    std::vector<Finding> evidence;              ///< of the cards (card_evidence.h)
    std::optional<SiteValues> values;  ///< when the survey is measured under its settings now
    bool interrupted = false;
};

/// `store` is empty when nothing was measured. Errors: MachineError.
SurveyLook look_at_survey(const Survey& survey, const Store& store, bool quiet);

}  // namespace hearwood
