// The listening sheet: hearwood/listen/ with a page, clips of equal length, rate and level under
// neutral names, and their spectrograms; beside it the key that says what each clip is. Nothing but
// the key tells site, class, time or index.
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
    bool mixed_rates = false;          ///< sites were recorded at different sample rates
    int sound_rate = 0;                ///< of all clips
};

/// The column whose low, middle and high segments are drawn alike where none is named: the primary
/// outcome's. Of one that no single segment has (what is counted outside choirs, or on even terms,
/// hangs on the whole window) sound events stand in; without a primary outcome aci.
std::string index_to_listen_by(const Survey& survey);

/// hearwood/listen of a survey folder.
std::filesystem::path listening_folder(const std::filesystem::path& survey_folder);

/// What a sheet would hold. Errors: as ListeningCandidates.
std::vector<DrawnClip> draw_for_sheet(const Survey& survey, const Store& store,
                                      const SheetOptions& options);

/// Errors: InputError when a sheet is there already and not `force`, or nothing can be drawn;
/// MachineError.
SheetSummary make_listening_sheet(const Survey& survey, const Store& store,
                                  const SheetOptions& options);

}  // namespace hearwood
