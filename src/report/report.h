// The page: one HTML file that holds its data, charts, script and style, with clips and full-size
// day pictures in folders beside it. Nothing in it depends on the time of writing, the machine or
// the locale.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "survey/survey.h"

namespace hearwood {

class Store;

struct ReportOptions {
    int jobs = 1;
    bool quiet = false;
    bool pictures = true;  ///< day pictures from the kept spectra
    bool clips = true;     ///< 15 s of sound beside the values; needs the recordings at hand
    std::filesystem::path folder = {};  ///< where to write; empty: hearwood/report of the survey
    const Survey* shown = nullptr;      ///< the same survey, its coordinates as the page shows them
};

/// What was written, for the command to say.
struct ReportSummary {
    std::filesystem::path page;  ///< empty after Ctrl-C: the old page, if any, still stands
    std::uint64_t page_bytes = 0;
    std::size_t pictures = 0, clips = 0;
    std::uint64_t clips_bytes = 0;  ///< of their sounds and pictures on the disk
    std::size_t clips_missing = 0;  ///< chosen, but the recording could not be read
    std::string methods;            ///< the paragraph
    std::vector<std::string> old;   ///< what is kept from another plan or other values: sentences
};

/// Writes hearwood/report/ of the survey's folder: index.html, pictures/, clips/. Everything is
/// worked out from the sheets and the store as they are now; a contrast that is refused costs the
/// contrast only, and the page says why. Errors: as JudgedSegments (not measured, other settings);
/// MachineError when something cannot be written. A recording that cannot be opened costs its clip
/// only, and the page says so.
ReportSummary write_report(const Survey& survey, const Store& store, const ReportOptions& options);

}  // namespace hearwood
