// The listening sheet: hearwood/listen/ with a page, clips of equal length under neutral names,
// their spectrograms, and the key that says what each clip is. Nothing but the key tells site,
// class, time or index.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "listen/sample.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct SheetOptions {
    int clips = 60;     ///< of kept segments
    int screened = 12;  ///< of segments that weather or engines excluded
    int repeats = 6;    ///< clips that come twice, to see how far a listener agrees with themselves
    double seconds = 20;  ///< of a clip; a whole segment where that is shorter
    std::string index;    ///< stored column that the thirds are made by
    std::uint64_t seed = 1;
    bool force = false;  ///< begin anew where a sheet is
    bool quiet = false;
};

struct SheetSummary {
    std::filesystem::path page;
    int clips = 0, repeats = 0, screened = 0;
    std::vector<std::string> missing;  ///< clips that could not be cut: path and reason
    bool mixed_rates = false;          ///< file sizes tell sites apart
};

/// hearwood/listen of a survey folder.
std::filesystem::path listening_folder(const std::filesystem::path& survey_folder);

/// Errors: InputError when a sheet is there already and not `force`, or nothing can be drawn;
/// MachineError.
SheetSummary make_listening_sheet(const Survey& survey, const Store& store,
                                  const SheetOptions& options);

/// A line of the key.
struct KeyLine {
    std::string sheet;      ///< the same on every line
    std::string clip;       ///< name of the clip in the page and the answers
    std::string repeat_of;  ///< the clip that it repeats; empty: none
    std::string recording;  ///< as in the store
    int channel = 0, segment = 0;
    std::string site, window;
    int third = 0;  ///< as in DrawnClip
    double weight = 1;
    double from_s = 0, to_s = 0;  ///< of the recording
};

/// Reads key.csv. Errors: InputError with every problem.
std::vector<KeyLine> read_key(const std::filesystem::path& survey_folder);

}  // namespace hearwood
