#include "plan/budget.h"

#include <fmt/format.h>

#include "base/lines.h"
#include "base/text.h"

namespace hearwood {

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
