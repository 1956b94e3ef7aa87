// What the first hours of a deployment sound like: few segments, so that a dead microphone or
// another gain is known while the recorder can still go back.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/missing.h"
#include "screen/rules.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct FirstHours {
    int segments = 0;              ///< listened to
    int dead = 0;                  ///< of them those that the screen `dead` fires on
    double level_dbfs = kMissing;  ///< median of l50_dbfs over those that are not dead
    double floor_dbfs = kMissing;  ///< likewise of l90_dbfs
    double spread_db = kMissing;   ///< likewise of l10_dbfs - l90_dbfs
    bool operator==(const FirstHours&) const = default;
};

/// So many segments at most.
inline constexpr std::size_t kFirstSegments = 12;

/// A recording as far as it matters here.
struct TimedRecording {
    double start_s = 0, duration_s = 0;
};
struct ListeningPoint {
    std::size_t recording = 0;  ///< place in what was given
    std::int64_t segment = 0;
    bool operator==(const ListeningPoint&) const = default;
};
/// The first segment of each recording, and one every hour of longer ones, spread evenly over those
/// within a day of the first start. `recordings` by start.
std::vector<ListeningPoint> first_points(std::span<const TimedRecording> recordings,
                                         double segment_s);

/// `rows` are values of segments parallel to `columns`.
FirstHours first_hours(std::span<const std::vector<double>> rows,
                       std::span<const std::string> columns, const ScreenSettings& settings);

/// Measures segments of these recordings, which the store knows, from their files. What cannot be
/// read is passed over.
FirstHours listen_to(const Survey& survey, std::span<const RecordingRow> recordings,
                     std::span<const ListeningPoint> points);

/// In survey.db, by deployment. Writing REQUIRES a transaction. Errors: MachineError.
void keep_first_hours(Store& store, const std::string& deployment, const FirstHours& heard);
std::optional<FirstHours> kept_first_hours(const Store& store, const std::string& deployment);

}  // namespace hearwood
