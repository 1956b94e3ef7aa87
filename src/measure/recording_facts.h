// What a recording's row says besides its measurements: when it began, what it holds, how it came
// out.
#pragma once

#include <filesystem>
#include <map>
#include <optional>

#include "audio/start_time.h"
#include "measure/segment_measurer.h"
#include "store/recording_row.h"
#include "survey/survey.h"

namespace hearwood {

/// Reads what rows need to know of recordings; safe to use from several threads.
class RecordingFacts {
  public:
    RecordingFacts(const Survey& survey, std::string settings_hash);

    /// Opens the recording and fills in start, shape and, when it cannot be used, state and reason.
    /// The row is `pending` when it is to be measured. Nothing when it cannot be opened.
    std::optional<OpenRecording> open(const std::filesystem::path& path, RecordingRow& row) const;

    /// The final state and reason, from what was found when it was opened (row.lost_s, `damages`)
    /// and what was met while measuring.
    static void conclude(RecordingRow& row, const std::vector<Damage>& damages,
                         const Losses& losses);

    /// The rate at which a deployment's recordings are measured by decision; 0: their own.
    int decided_rate(const std::string& deployment) const;

  private:
    StartTimeReader starts_;
    std::string pattern_, settings_hash_;
    std::map<std::string, int> rates_;  ///< decided ones, by deployment
};

}  // namespace hearwood
