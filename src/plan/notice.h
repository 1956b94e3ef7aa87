// The notice for people who live and work where recorders listen: what is recorded, what happens to
// voices, what they can ask, and lines for what only the survey's people can say.
#pragma once

#include <string>
#include <vector>

#include "plan/visits.h"
#include "survey/survey.h"

namespace hearwood {

/// A whole HTML document to print: a page in the survey's language, and the same in English for
/// those who put it up. `schedules` as for deployment_sheet_html, and in English for that page.
/// Same survey, same bytes.
std::string consent_notice_html(const Survey& survey, const std::vector<Visit>& visits,
                                const std::vector<std::string>& schedules,
                                const std::vector<std::string>& english_schedules);

}  // namespace hearwood
