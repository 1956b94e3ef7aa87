// The recordings of a deployment as the tables and the check see them: true start, state, and what
// is odd about each when it is held against the deployment and the other recordings
// (docs/coverage.md).
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "aggregate/placement.h"
#include "base/finding.h"
#include "store/recording_row.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// What can be odd about a recording that opens well.
enum class Oddity {
    clock_reset,     ///< start implausible: the recorder's clock lost its time
    duplicate,       ///< the same content as another recording of the deployment; left out
    overlapping,     ///< begins before the recording before it ends
    wrong_rate,      ///< not the sample rate that most of the deployment's recordings have
    wrong_channels,  ///< not the number of channels that most have
    gone,            ///< no longer in its deployment's folder: it does not count
};
/// "clock reset", "duplicate" ...
const char* name_of(Oddity oddity);

struct KnownRecording {
    RecordingRow row;
    std::optional<Instant> start;  ///< true time; nothing when the start is not known
    double correction_s = 0;       ///< added to what the recorder wrote
    bool inside = true;            ///< some of it lies within the deployment's start and end
    int measured_rate = 0;         ///< Hz: its own, or the one that a decision says
    std::optional<std::size_t> clock_decision;  ///< what set its start right, if any
    std::vector<Oddity> oddities;
    std::string note;  ///< the oddities in a sentence each, and the store's reason; may be empty

    double duration_s() const {
        return row.sample_rate > 0 ? static_cast<double>(row.frames) / row.sample_rate : 0;
    }
    bool has(Oddity oddity) const;
    /// Whether its segments enter the tables: known start, readable, there, no duplicate.
    bool counts() const;
    /// As recordings.csv says it: "measured", "damaged", "unreadable", "no start time",
    /// "duplicate", "clock reset", "outside deployment", "not measured".
    std::string state() const;
    /// Something an exit code 1 tells of: it is damaged or unreadable.
    bool unusable() const;
};

/// Serious where the recording is unusable, else a note; nothing where there is nothing odd about
/// it. Its code says the state, or else the first oddity.
std::optional<Finding> finding_about(const KnownRecording& recording);

/// Looks at all recordings of one deployment together. The rows may come in any order; the result
/// is ordered by true start (those without one last), then path. `silent` says of a recording
/// whether it holds nothing: the files of a dead microphone are alike and no copies of each other.
/// It is asked of equal ones alone.
std::vector<KnownRecording> examine_recordings(
    const Placer& placer, std::size_t deployment, std::vector<RecordingRow> rows,
    const std::function<bool(const RecordingRow&)>& silent = {});

/// Whether a kept spectrum holds anything: the bytes of silence, and of a constant, are all alike
/// (index/kept_spectrum.h).
bool tells(std::string_view spectrum);

/// Whether a recording holds nothing: by the spectra that are kept of it; before it is measured, by
/// what was heard of its deployment's first hours when the card came in. Opens no file.
bool is_silent(const Store& store, const RecordingRow& row);

}  // namespace hearwood
