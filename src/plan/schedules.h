// The recording schedule of each visit, and its card and battery arithmetic as a table.
#pragma once

#include <filesystem>
#include <optional>
#include <vector>

#include "base/table.h"
#include "plan/budget.h"
#include "plan/visits.h"
#include "survey/survey.h"
#include "words/words.h"

namespace hearwood {

/// What the call states: it goes before the deployment sheet.
struct StatedSchedule {
    Schedule recorder;  ///< its minutes_per_hour and days hold where nothing else is known
    std::optional<double> minutes_per_hour, days;
    bool recorder_stated = false;  ///< rate, bits or channels were given
};

/// The longest stay and the densest schedule of the survey.
Schedule greatest_schedule(const Survey& survey, const StatedSchedule& stated);

/// The visit's own: minutes from its row of the deployment sheet, days from its start and end, else
/// from the dates of the visit.
Schedule schedule_of(const Survey& survey, const Visit& visit, const StatedSchedule& stated);

/// schedule_text of the visit in that language, "" when neither the call nor the sheet says
/// anything of it: nothing is printed as a plan that nobody made.
std::string stated_text(const Survey& survey, const Visit& visit, const StatedSchedule& stated,
                        const Words& words);

/// A row of budget.csv.
struct BudgetLine {
    Visit visit;
    Schedule schedule;
    Budget budget;
};
/// The survey must outlive the table.
TableOf<BudgetLine> budgets_table(const Survey& survey);
void write_budgets(const Survey& survey, const std::vector<Visit>& visits,
                   const StatedSchedule& stated, const std::filesystem::path& path);

}  // namespace hearwood
