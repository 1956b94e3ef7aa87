#include "plan/schedules.h"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>

#include "base/lines.h"
#include "base/text.h"
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

namespace {

constexpr double kMinutesPerDay = 24 * 60;
/// Recorders commonly begin a new file every hour or sooner; longer limits are of no interest.
constexpr double kLongFileMinutes = 180;

std::string days_text(double days) {
    return format_number(days) + (days == 1 ? " day" : " days");
}

/// "card of 128 GB: full after 93 days, which covers the 30 planned".
std::string lasting(const std::string& what, const char* end, double lasts, double days) {
    const bool enough = lasts >= days;
    return list_entry(fmt::format("{}: {} after {} days, {} the {} planned", what, end,
                                  readable_number(lasts), enough ? "which covers" : "SHORT OF",
                                  format_number(days)));
}

std::string battery_text(const Schedule& schedule, const Budget& budget) {
    if (!schedule.battery_mah && !schedule.record_ma && !schedule.sleep_ma)
        return list_entry(
            "battery: not worked out; measure your recorder's draw and give --battery-mah, "
            "--record-ma, --sleep-ma");
    if (!budget.mean_ma)
        return list_entry(schedule.record_ma
                              ? "battery: the draw of sleeping is missing (--sleep-ma)"
                              : "battery: the draw of recording is missing (--record-ma)");
    const std::string text =
        list_entry(fmt::format("mean draw {} mA, {} mAh over {}", readable_number(*budget.mean_ma),
                               readable_number(*budget.mah_in_all), days_text(schedule.days)));
    if (!budget.battery_days)
        return text + list_entry("battery: give --battery-mah to see how long it lasts");
    return text + lasting(fmt::format("battery of {} mAh, {} % of it counted on",
                                      format_number(*schedule.battery_mah),
                                      format_number(kUsableBattery * 100)),
                          "empty", *budget.battery_days, schedule.days);
}

}  // namespace

Budget budget_of(const Schedule& schedule) {
    Budget budget;
    const double share = schedule.minutes_per_hour / 60 * schedule.hours_per_day / 24;
    budget.bytes_per_minute = schedule.rate_hz * schedule.bits / 8 * schedule.channels * 60;
    budget.gb_per_day = budget.bytes_per_minute * kMinutesPerDay * share / 1e9;
    budget.gb_in_all = budget.gb_per_day * schedule.days;
    budget.longest_wav_minutes = kLargestWavBytes / budget.bytes_per_minute;
    if (schedule.card_gb && budget.gb_per_day > 0)
        budget.card_days = *schedule.card_gb * kUsableCard / budget.gb_per_day;
    const bool sleeps = share < 1;
    if (!schedule.record_ma || (sleeps && !schedule.sleep_ma)) return budget;
    budget.mean_ma = *schedule.record_ma * share + schedule.sleep_ma.value_or(0) * (1 - share);
    budget.mah_in_all = *budget.mean_ma * 24 * schedule.days;
    if (schedule.battery_mah && *budget.mean_ma > 0)
        budget.battery_days = *schedule.battery_mah * kUsableBattery / (*budget.mean_ma * 24);
    return budget;
}

std::string schedule_text(const Schedule& schedule, const Words& words) {
    const std::string rate = format_number(schedule.rate_hz), bits = std::to_string(schedule.bits),
                      minutes = format_number(schedule.minutes_per_hour);
    std::string text =
        schedule.channels == 1
            ? words.say("sheet.one_channel", {{"rate", rate}, {"bits", bits}, {"minutes", minutes}})
            : words.say("sheet.channels", {{"rate", rate},
                                           {"bits", bits},
                                           {"channels", grouped(schedule.channels)},
                                           {"minutes", minutes}});
    if (schedule.hours_per_day < 24)
        text = words.say("sheet.hours_a_day",
                         {{"schedule", text}, {"hours", format_number(schedule.hours_per_day)}});
    return text;
}

std::string budget_text(const Schedule& schedule) {
    const Budget budget = budget_of(schedule);
    std::string text = list_entry(
        fmt::format("{}, {}: {} GB a day, {} GB in all (WAV)", schedule_text(schedule, Words("en")),
                    days_text(schedule.days), readable_number(budget.gb_per_day),
                    readable_number(budget.gb_in_all)));
    if (budget.card_days)
        text +=
            lasting(fmt::format("card of {} GB, {} % of it counted on",
                                format_number(*schedule.card_gb), format_number(kUsableCard * 100)),
                    "full", *budget.card_days, schedule.days);
    else
        text += list_entry(
            fmt::format("card: at least {} GB", readable_number(budget.gb_in_all / kUsableCard)));
    if (budget.longest_wav_minutes < kLongFileMinutes)
        text += list_entry(fmt::format("a WAV file holds at most {} minutes of this (4 GiB)",
                                       readable_number(budget.longest_wav_minutes)));
    return text + battery_text(schedule, budget);
}

}  // namespace hearwood
