// The sheet that goes into the forest: one printed page a visit, with blanks, and one for the trial
// of how far sound carries; the visits also as CSV.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "base/table.h"
#include "plan/visits.h"
#include "survey/survey.h"

namespace hearwood {

/// A whole HTML document, nothing loaded from elsewhere; every text of the survey is escaped. Same
/// survey, same bytes. `schedules`, one a visit, says what the recorder is set to, e.g. "48000 Hz,
/// 16 bits, 1 channel, 10 of 60 minutes"; empty: a line to write on.
std::string deployment_sheet_html(const Survey& survey, const std::vector<Visit>& visits,
                                  const std::vector<std::string>& schedules);

/// The survey must outlive the table.
TableOf<Visit> deployment_sheet_table(const Survey& survey);
/// The columns of deployments.csv with what is known filled in, then blanks for soil and hazards:
/// filled and saved as deployments.csv it loads.
void write_deployment_csv(const Survey& survey, const std::vector<Visit>& visits,
                          const std::filesystem::path& path);

}  // namespace hearwood
