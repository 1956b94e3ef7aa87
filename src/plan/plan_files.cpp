#include "plan/plan_files.h"

#include "base/file.h"
#include "plan/deployment_sheet.h"
#include "plan/labels.h"
#include "plan/notice.h"
#include "plan/spacing.h"
#include "survey/gpx.h"

namespace hearwood {

void write_plan(const Plan& plan, const std::filesystem::path& folder) {
    const Survey& survey = plan.survey;
    const std::vector<Visit>& visits = plan.visits;
    const auto schedules_in = [&](const Words& words) {
        std::vector<std::string> schedules;
        for (const Visit& visit : visits)
            schedules.push_back(stated_text(survey, visit, plan.schedule, words));
        return schedules;
    };
    const std::vector<std::string> schedules = schedules_in(Words(survey.language));
    write_whole_file(folder / "deployment-sheet.html",
                     deployment_sheet_html(survey, visits, schedules));
    write_whole_file(folder / "consent-notice.html",
                     consent_notice_html(survey, visits, schedules, schedules_in(Words("en"))));
    write_deployment_csv(survey, visits, folder / "deployment-sheet.csv");
    const std::vector<std::size_t> order = round_trip(survey);
    write_whole_file(folder / "sites.gpx", gpx_of_sites(survey, order));
    write_whole_file(folder / "labels.html", labels_html(survey, visits, order));
    write_sun_times(survey, visits, folder / "sun-times.csv");
    write_budgets(survey, visits, plan.schedule, folder / "budget.csv");
    write_distances(survey, plan.listening_distance_m, folder / "distances.csv");
    write_design(plan.findings, folder / "design.csv");
}

}  // namespace hearwood
