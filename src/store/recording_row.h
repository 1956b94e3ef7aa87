// One row of the table recordings: a file, what is known of it, and how far it has come.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "base/wall_time.h"

namespace hearwood {

/// How far a recording has come. The words stand in the database and in recordings.csv.
enum class RecordingState {
    pending,     ///< "not measured": known (copied, say), but not measured yet
    measured,    ///< "measured": all of it
    damaged,     ///< "damaged": something is lost; what could be used is measured, `reason` tells
    unreadable,  ///< "unreadable": nothing of it can be used
    no_start_time,  ///< "no start time": neither name nor header says when it began; left out
};
std::string_view word(RecordingState state);
/// MachineError for a word that no state has: the database was written by something else.
RecordingState recording_state(std::string_view word);

struct RecordingRow {
    std::int64_t id = 0;  ///< given by the store
    std::string deployment;
    std::string path;  ///< from the survey folder, '/' between parts, by name_to_utf8(); unique
    std::int64_t size = 0;      ///< bytes
    std::int64_t mtime_ns = 0;  ///< last change of the file, nanoseconds since 1970 UTC

    // When it began by the recorder's own clock, uncorrected.
    std::optional<LocalTime> start;
    std::optional<int> start_offset_s;  ///< east of UTC, when the name or header states one
    std::string start_source;           ///< "file name", "bext", "GUANO" ...; empty without a start
    std::string start_pattern;  ///< the survey's own pattern that was in force when it was read

    // What the file holds. 0 or empty: not known.
    int sample_rate = 0;  ///< Hz
    int channels = 0;
    int bits = 0;                      ///< of a sample
    std::string format;                ///< "WAV PCM", "FLAC" ...
    std::int64_t frames = 0;           ///< samples per channel that are there
    double lost_s = 0;                 ///< seconds that the header promises and that are not there
    std::int64_t spoilt_segments = 0;  ///< measured segments with samples that are no numbers
    std::string serial;                ///< of the recorder, from the header

    RecordingState state = RecordingState::pending;
    std::string reason;    ///< why it is damaged or unreadable, in words
    std::string settings;  ///< hash of the settings it was measured under; empty: no results
    bool gone = false;     ///< was not on the disk at the last look

    // Proof of the copy.
    std::string sha256;     ///< of the whole file; empty: not computed
    bool proved = false;    ///< read back from the disk after copying and found equal to the card
    std::string card_path;  ///< where it lay on the card, as name_to_utf8 writes it

    /// A copy with zeros in place of what could not be read from the card.
    bool salvaged() const { return !proved && !card_path.empty() && !sha256.empty(); }
};

}  // namespace hearwood
