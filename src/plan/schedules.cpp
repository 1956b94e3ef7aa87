#include "plan/schedules.h"

#include <algorithm>
#include <chrono>
#include <cmath>

#include "base/csv_writer.h"

namespace hearwood {

namespace {

std::optional<double> days_out(const Deployment& deployment) {
    if (!deployment.start || !deployment.end) return {};
    using Days = std::chrono::duration<double, std::ratio<86'400>>;
    return Days(*deployment.end - *deployment.start).count();
}

void lasts_cell(CsvWriter& csv, const std::optional<double>& lasts, double days) {
    if (lasts)
        csv.integer(*lasts >= days ? 1 : 0);
    else
        csv.missing();
}

void write_budget(CsvWriter& csv, const Schedule& schedule) {
    const Budget budget = budget_of(schedule);
    csv.number(schedule.rate_hz);
    csv.integer(schedule.bits);
    csv.integer(schedule.channels);
    csv.number(schedule.minutes_per_hour);
    csv.number(schedule.days);
    csv.number(budget.gb_per_day);
    csv.number(budget.gb_in_all);
    csv.number(budget.gb_in_all / kUsableCard);
    csv.number(schedule.card_gb);
    csv.number(budget.card_days);
    lasts_cell(csv, budget.card_days, schedule.days);
    csv.number(budget.longest_wav_minutes);
    csv.number(schedule.battery_mah);
    csv.number(schedule.record_ma);
    csv.number(schedule.sleep_ma);
    csv.number(budget.mean_ma);
    csv.number(budget.mah_in_all);
    csv.number(budget.battery_days);
    lasts_cell(csv, budget.battery_days, schedule.days);
}

}  // namespace

Schedule greatest_schedule(const Survey& survey, const StatedSchedule& stated) {
    Schedule schedule = stated.recorder;
    double minutes = 0, days = 0;
    for (const Deployment& deployment : survey.deployments) {
        minutes = std::max(minutes, deployment.expected_minutes_per_hour.value_or(0));
        days = std::max(days, days_out(deployment).value_or(0));
    }
    if (minutes > 0) schedule.minutes_per_hour = minutes;
    if (days > 0) schedule.days = std::ceil(days);
    schedule.minutes_per_hour = stated.minutes_per_hour.value_or(schedule.minutes_per_hour);
    schedule.days = stated.days.value_or(schedule.days);
    return schedule;
}

Schedule schedule_of(const Survey& survey, const Visit& visit, const StatedSchedule& stated) {
    Schedule schedule = stated.recorder;
    schedule.days = static_cast<double>((visit.last - visit.first).count() + 1);
    if (visit.deployment) {
        const Deployment& deployment = survey.deployments[*visit.deployment];
        schedule.minutes_per_hour =
            deployment.expected_minutes_per_hour.value_or(schedule.minutes_per_hour);
        schedule.days = days_out(deployment).value_or(schedule.days);
    }
    schedule.minutes_per_hour = stated.minutes_per_hour.value_or(schedule.minutes_per_hour);
    schedule.days = stated.days.value_or(schedule.days);
    return schedule;
}

std::string stated_text(const Survey& survey, const Visit& visit, const StatedSchedule& stated) {
    const bool in_sheet =
        visit.deployment &&
        survey.deployments[*visit.deployment].expected_minutes_per_hour.has_value();
    if (!in_sheet && !stated.minutes_per_hour && !stated.recorder_stated) return "";
    return schedule_text(schedule_of(survey, visit, stated));
}

void write_budgets(const Survey& survey, const std::vector<Visit>& visits,
                   const StatedSchedule& stated, const std::filesystem::path& path) {
    const std::vector<std::string> header = {
        "deployment",  "site",         "first_date",   "last_date",
        "rate_hz",     "bits",         "channels",     "minutes_per_hour",
        "days",        "gb_per_day",   "gb_in_all",    "card_gb_needed",
        "card_gb",     "card_days",    "card_lasts",   "longest_wav_minutes",
        "battery_mah", "record_ma",    "sleep_ma",     "mean_ma",
        "mah_in_all",  "battery_days", "battery_lasts"};
    CsvWriter csv(path, header);
    for (const Visit& visit : visits) {
        csv.text(visit.deployment ? survey.deployments[*visit.deployment].name : "");
        csv.text(survey.sites[visit.site].name);
        csv.text(format_date(visit.first));
        csv.text(format_date(visit.last));
        write_budget(csv, schedule_of(survey, visit, stated));
        csv.end_row();
    }
    csv.commit();
}

}  // namespace hearwood
