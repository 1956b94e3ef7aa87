// Labels to print, cut out and stick on: one for the recorder and one for its card, a visit.
#pragma once

#include <string>
#include <vector>

#include "plan/visits.h"
#include "survey/survey.h"

namespace hearwood {

/// A whole HTML document, nothing loaded from elsewhere; every text of the survey is escaped. Same
/// survey, same bytes. In the order of `sites` (indices into Survey::sites), which is that of the
/// round.
std::string labels_html(const Survey& survey, const std::vector<Visit>& visits,
                        const std::vector<std::size_t>& sites);

}  // namespace hearwood
