// What a deployment's recordings show of their card and recorder, to be held against the sheet and
// against the other deployments (card_evidence.h).
#pragma once

#include <bitset>
#include <chrono>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "aggregate/known_recordings.h"
#include "measure/first_hours.h"

namespace hearwood {

class Store;

/// Steps of five minutes of the local day.
inline constexpr int kStepsOfHour = 12, kStepsOfDay = 24 * kStepsOfHour;
using DaySteps = std::bitset<kStepsOfDay>;

struct CardTraits {
    std::size_t deployment = 0;   ///< into Survey::deployments
    std::vector<Instant> starts;  ///< true time, of all recordings that are there and have one
    std::optional<Instant> first, last;  ///< start of the first and end of the last that count
    std::chrono::milliseconds cycle{};   ///< usual time from start to start; 0: one recording
    DaySteps daily;    ///< recorded on at least half as many dates as the step recorded most often
    std::string mark;  ///< serial in the headers, else prefix of the names; empty: none that tells
    int sample_rate = 0;  ///< of most recordings
    FirstHours sound;     ///< no segments: nothing is known of it

    bool recorded() const { return first.has_value(); }
};

/// From the deployment's recordings as examine_recordings gives them; the sound from the store.
CardTraits card_traits(const Survey& survey, const Placer& placer, const Store& store,
                       std::size_t deployment, std::span<const KnownRecording> recordings);

/// Steps of the day in which a schedule runs; all for none.
DaySteps scheduled_steps(const std::vector<ScheduledHours>& schedule);

}  // namespace hearwood
