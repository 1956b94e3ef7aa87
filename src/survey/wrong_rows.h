// Inside of load_survey: rows of sites.csv and deployments.csv that cannot be used, and what goes
// without them.
#pragma once

#include <string>
#include <vector>

#include "base/error.h"
#include "survey/survey.h"

namespace hearwood {

/// Takes sites and deployments whose rows are wrong out of the survey, with the deployments of such
/// sites, those whose recordings a decision gives to one of them, and decisions about them. Of two
/// rows that contradict each other both go: which of them is wrong is not known. The errors of
/// these rows leave `problems`, and are told in Survey::left_out.
/// Does nothing when then no site of a class, or no deployment, would be left.
/// REQUIRES sites, deployments and decisions as read.
void leave_out_wrong_rows(Survey& survey, std::vector<Problem>& problems);

}  // namespace hearwood
