// The loop over a survey's recordings: what is new or changed is measured, segment by segment, on
// several threads; one writer puts it into the store. What is done stays done: a killed or
// interrupted run goes on where it stopped.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.h"
#include "store/store.h"
#include "survey/setting_keys.h"
#include "survey/survey.h"

namespace hearwood {

/// Raised by one whenever a change of the program changes any measured number.
inline constexpr int kMeasuringVersion = 5;

struct MeasureOptions {
    int jobs = 1;
    bool quiet = false;
    bool dry_run = false;
    bool hash = false;                 ///< also compute the SHA-256 of recordings that have none
    int part = 0;                      ///< this part, counted from 0 ...
    int parts = 1;                     ///< ... of so many, shared out by bytes
    const Store* elsewhere = nullptr;  ///< recordings that are finished there are left out
};

/// A recording that is damaged or unreadable.
struct RecordingTrouble {
    std::string path;  ///< as in the store
    RecordingState state = RecordingState::unreadable;
    std::string reason;
};

struct MeasureSummary {
    std::int64_t found = 0;      ///< files in the deployments' folders (of this part)
    std::int64_t measured = 0;   ///< files measured in this run, damaged ones among them
    std::int64_t unchanged = 0;  ///< files that were measured before
    std::int64_t to_do = 0;      ///< files that had to be opened
    std::uint64_t to_do_bytes = 0;
    std::int64_t segments = 0;        ///< rows written in this run: segments x channels
    std::int64_t stale_segments = 0;  ///< rows of other settings that were dropped
    std::int64_t gone = 0;            ///< recordings in the store that are no longer on the disk
    double audio_s = 0;               ///< length of what was measured in this run
    double elapsed_s = 0;
    std::vector<RecordingTrouble>
        trouble;                ///< of all recordings of the survey; at most kTroubleShown
    std::int64_t unusable = 0;  ///< how many there are
    bool interrupted = false;
};
inline constexpr std::size_t kTroubleShown = 1000;

/// Brings the store up to date with the recordings on the disk. Errors: MachineError when the store
/// cannot be written; a bad recording is only listed.
MeasureSummary measure_survey(const Survey& survey, Store& store, const MeasureOptions& options);

/// What was done, what could not be used and why, what is gone, for the terminal. `in_run`: check
/// has named the recordings that cannot be used.
std::string measured_text(const MeasureSummary& summary, bool dry_run, bool in_run);
/// `interrupted` after Ctrl-C, `some_unusable` when some recordings could not be used, in this run
/// or an earlier one.
ExitCode exit_code_of(const MeasureSummary& summary);

/// How many recordings measure_survey would have to open; nothing is opened or written.
std::int64_t recordings_to_do(const Survey& survey, const Store& store);

/// The settings (canonical JSON, hash, columns) that this survey's results have to be of.
StoredSettings measuring_settings(const MeasureSettings& settings);

/// The canonical JSON of the keys that measured numbers depend on, and of the bands: one text for
/// one meaning.
std::string measuring_json(const MeasureSettings& measure,
                           std::span<const SettingSection> sections);

/// The canonical JSON of all keys of one section of survey.toml, "screen".
std::string section_json(const Settings& settings, std::string_view section);

/// "frame 512 -> 1024, band insects new": in words, what differs between two canonical settings.
std::string settings_difference(const StoredSettings& before, const StoredSettings& now);

}  // namespace hearwood
