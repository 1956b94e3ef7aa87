#include "plan/schedules.h"

#include <algorithm>
#include <chrono>
#include <cmath>

#include "words/words.h"

namespace hearwood {

namespace {

std::optional<double> days_out(const Deployment& deployment) {
    if (!deployment.start || !deployment.end) return {};
    using Days = std::chrono::duration<double, std::ratio<86'400>>;
    return Days(*deployment.end - *deployment.start).count();
}

std::optional<bool> lasts(const std::optional<double>& days, const Schedule& schedule) {
    if (!days) return std::nullopt;
    return *days >= schedule.days;
}

}  // namespace

Schedule greatest_schedule(const Survey& survey, const StatedSchedule& stated) {
    Schedule schedule = stated.recorder;
    double minutes = 0, days = 0, hours = 0;
    for (const Deployment& deployment : survey.deployments) {
        minutes = std::max(minutes, deployment.expected_minutes_per_hour.value_or(0));
        hours = std::max(hours, scheduled_minutes(deployment.hours) / 60.0);
        days = std::max(days, days_out(deployment).value_or(0));
    }
    if (minutes > 0) schedule.minutes_per_hour = minutes;
    if (hours > 0) schedule.hours_per_day = hours;
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
        schedule.hours_per_day = scheduled_minutes(deployment.hours) / 60.0;
        schedule.days = days_out(deployment).value_or(schedule.days);
    }
    schedule.minutes_per_hour = stated.minutes_per_hour.value_or(schedule.minutes_per_hour);
    schedule.days = stated.days.value_or(schedule.days);
    return schedule;
}

std::string stated_text(const Survey& survey, const Visit& visit, const StatedSchedule& stated,
                        const Words& words) {
    const bool in_sheet =
        visit.deployment &&
        (survey.deployments[*visit.deployment].expected_minutes_per_hour.has_value() ||
         !survey.deployments[*visit.deployment].hours.empty());
    if (!in_sheet && !stated.minutes_per_hour && !stated.recorder_stated) return "";
    return schedule_text(schedule_of(survey, visit, stated), words);
}

TableOf<BudgetLine> budgets_table(const Survey& survey) {
    using Line = BudgetLine;
    const auto set = [](auto Schedule::*member) {
        return [member](const Line& l) { return l.schedule.*member; };
    };
    const auto comes_to = [](auto Budget::*member) {
        return [member](const Line& l) { return l.budget.*member; };
    };
    return TableOf<Line>("budget.csv", "card and battery", "A row is a visit.")
        .column("deployment", "", "empty: not in the sheet yet",
                [&](const Line& l) {
                    return l.visit.deployment ? survey.deployments[*l.visit.deployment].name : "";
                })
        .column("site", "", "recording site",
                [&](const Line& l) { return survey.sites[l.visit.site].name; })
        .column("first_date", "", "first local date out",
                [](const Line& l) { return format_date(l.visit.first); })
        .column("last_date", "", "last local date out",
                [](const Line& l) { return format_date(l.visit.last); })
        .column("rate_hz", "Hz", "samples a second", set(&Schedule::rate_hz))
        .column("bits", "bit", "bits a sample", set(&Schedule::bits))
        .column("channels", "1", "microphones recorded", set(&Schedule::channels))
        .column("minutes_per_hour", "min", "minutes recorded in an hour",
                set(&Schedule::minutes_per_hour))
        .column("hours_per_day", "h", "hours of the day in which it records",
                set(&Schedule::hours_per_day))
        .column("days", "d", "days out", set(&Schedule::days))
        .column("gb_per_day", "GB", "uncompressed WAV a day; 1 GB is 10^9 bytes",
                comes_to(&Budget::gb_per_day))
        .column("gb_in_all", "GB", "the same over all days", comes_to(&Budget::gb_in_all))
        .column("card_gb_needed", "GB",
                "the smallest card that holds it: 95 % of a card is counted on (common practice)",
                [](const Line& l) { return l.budget.gb_in_all / kUsableCard; })
        .column("card_gb", "GB", "size of the card; empty: not told", set(&Schedule::card_gb))
        .column("card_days", "d", "when the card is full", comes_to(&Budget::card_days))
        .column("card_lasts", "", "1: that is after the stay",
                [](const Line& l) { return lasts(l.budget.card_days, l.schedule); })
        .column("longest_wav_minutes", "min", "longest recording that a WAV file holds (4 GiB)",
                comes_to(&Budget::longest_wav_minutes))
        .column("battery_mah", "mAh", "capacity of the battery; empty: not told",
                set(&Schedule::battery_mah))
        .column("record_ma", "mA", "draw while recording", set(&Schedule::record_ma))
        .column("sleep_ma", "mA", "draw between recordings", set(&Schedule::sleep_ma))
        .column("mean_ma", "mA", "record_ma times the share recorded plus sleep_ma times the rest",
                comes_to(&Budget::mean_ma))
        .column("mah_in_all", "mAh", "drawn over all days", comes_to(&Budget::mah_in_all))
        .column("battery_days", "d", "when 80 % of the battery is drawn (common practice)",
                comes_to(&Budget::battery_days))
        .column("battery_lasts", "", "1: that is after the stay",
                [](const Line& l) { return lasts(l.budget.battery_days, l.schedule); });
}

void write_budgets(const Survey& survey, const std::vector<Visit>& visits,
                   const StatedSchedule& stated, const std::filesystem::path& path) {
    TableFile<BudgetLine> table(budgets_table(survey), path);
    for (const Visit& visit : visits) {
        const Schedule schedule = schedule_of(survey, visit, stated);
        table.add({visit, schedule, budget_of(schedule)});
    }
    table.commit();
}

}  // namespace hearwood
