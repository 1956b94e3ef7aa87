// When a recording began by the recorder's own clock: from its name, else from what stands in the
// file. docs/recordings.md describes the language of name patterns.
#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "audio/metadata.h"
#include "base/wall_time.h"

namespace hearwood {

class NamePattern;

enum class StartSource { name, bext, guano };
/// "name", "bext", "guano".
const char* name_of(StartSource source);

/// A start as the recorder's clock told it, not yet corrected for anything.
struct RecordedStart {
    LocalTime wall;  ///< what the clock showed
    /// Of that clock from UTC when the name or the file says so ("Z" is 0); it then goes before the
    /// zone of the deployment sheet.
    std::optional<std::chrono::minutes> utc_offset;
    StartSource source = StartSource::name;
};

/// Reads start times; made once per survey. Safe to use from several threads.
class StartTimeReader {
  public:
    /// The survey's own pattern ([names].start_time); empty: only the built-in ones. With a pattern
    /// of its own the built-in ones are not tried. Errors: InputError when the pattern is not
    /// understood.
    explicit StartTimeReader(const std::string& pattern = "");
    ~StartTimeReader();

    /// From a file's name (a path's folders are left aside). Nothing when no pattern matches or the
    /// date does not exist (31 April) or is implausible (before 1970, after 2099).
    std::optional<RecordedStart> from_name(std::string_view name) const;

    /// From the name, else bext, else GUANO.
    std::optional<RecordedStart> start_of(std::string_view name, const Metadata& metadata) const;

    /// The part of the name before the time stamp: recorders put their name or serial there
    /// ("LT04_"). Empty when there is no time stamp.
    std::string prefix_of(std::string_view name) const;

  private:
    std::unique_ptr<NamePattern> own_;  // null: the built-in patterns
};

/// EBU Tech 3285: yyyy-mm-dd and hh:mm:ss, where any of '-' '_' ':' ' ' '.' may separate. Nothing
/// when it is no such time.
std::optional<RecordedStart> start_from_bext(const BroadcastText& bext);
/// The field Timestamp, ISO 8601. Nothing when it is not there or no such time.
std::optional<RecordedStart> start_from_guano(std::string_view guano);

}  // namespace hearwood
