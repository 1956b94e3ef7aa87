// What is printed before a season: the sheet that goes into the forest (a page a visit, with
// blanks, and one for the trial of how far sound carries; the visits also as CSV), labels for
// recorders and cards, and the notice that asks for consent.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "base/html_template.h"
#include "base/table.h"
#include "plan/visits.h"
#include "survey/survey.h"
#include "words/words.h"

namespace hearwood {

/// The .html files of this folder.
extern const std::string_view kDeploymentSheetTemplate, kTrialSheetTemplate, kNoticeTemplate,
    kLabelsTemplate;

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

/// A whole HTML document, nothing loaded from elsewhere; every text of the survey is escaped. Same
/// survey, same bytes. In the order of `sites` (indices into Survey::sites), which is that of the
/// round.
std::string labels_html(const Survey& survey, const std::vector<Visit>& visits,
                        const std::vector<std::size_t>& sites);

/// A whole HTML document to print: a page in the survey's language, and the same in English for
/// those who put it up. `schedules` as for deployment_sheet_html, and in English for
/// that page. Same survey, same bytes.
std::string consent_notice_html(const Survey& survey, const std::vector<Visit>& visits,
                                const std::vector<std::string>& schedules,
                                const std::vector<std::string>& english_schedules);

/// A section of the sheets' document.
Html trial_page(const Survey& survey, const Words& words);

}  // namespace hearwood
