// Schedules: their card and battery arithmetic, and the one of each visit.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "base/table.h"
#include "plan/visits.h"
#include "survey/survey.h"
#include "words/words.h"

namespace hearwood {

/// What a recorder is asked to do, and what the user knows of its card and battery.
struct Schedule {
    double rate_hz = 48'000;
    int bits = 16;
    int channels = 1;
    double minutes_per_hour = 60;  ///< of recording, in the hours in which it records at all
    double hours_per_day = 24;     ///< in which it records
    double days = 30;
    std::optional<double> card_gb;
    std::optional<double> battery_mah, record_ma, sleep_ma;
};

/// Share of a card that is filled: the rest is for the file system and for a late visit (common
/// practice).
inline constexpr double kUsableCard = 0.95;
/// Share of a battery's printed capacity that is counted on: cold, age and draw take the rest
/// (common practice).
inline constexpr double kUsableBattery = 0.8;
/// A WAV file's size field ends here, 2^32 bytes; longer files need RF64 or are cut by the
/// recorder.
inline constexpr double kLargestWavBytes = 4'294'967'296.0;

struct Budget {
    double bytes_per_minute = 0;  ///< while recording
    double gb_per_day = 0;
    double gb_in_all = 0;
    double longest_wav_minutes = 0;      ///< until kLargestWavBytes
    std::optional<double> card_days;     ///< until kUsableCard of the card is full
    std::optional<double> mean_ma;       ///< over recording and sleeping
    std::optional<double> mah_in_all;    ///< drawn over all days
    std::optional<double> battery_days;  ///< until kUsableBattery of the battery is drawn
};

/// mean current = record * share + sleep * (1 - share), share = minutes_per_hour / 60 *
/// hours_per_day / 24. Battery
/// figures need the draw of recording and of sleeping; sleeping may be left out when the schedule
/// never sleeps.
Budget budget_of(const Schedule& schedule);

/// "48000 Hz, 16 bits, 1 channel, 10 of 60 minutes", in these words.
std::string schedule_text(const Schedule& schedule, const Words& words);

/// For the terminal: what is needed, whether card and battery last, what is missing to tell.
std::string budget_text(const Schedule& schedule);

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
