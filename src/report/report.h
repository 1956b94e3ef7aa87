// The page: one HTML file that holds its data, charts, script and style, with clips and full-size
// day pictures in folders beside it. Nothing in it depends on the time of writing, the machine or
// the locale.
#pragma once

#include <cstdint>
#include <filesystem>

#include "survey/survey.h"

namespace hearwood {

class Store;

struct ReportOptions {
    int jobs = 1;
    bool quiet = false;
    bool pictures = true;  ///< day pictures from the kept spectra
    bool clips = true;     ///< 15 s of sound beside the values; needs the recordings at hand
};

/// What was written, for the command to say.
struct ReportSummary {
    std::filesystem::path page;
    std::uint64_t page_bytes = 0;
    int pictures = 0;
    int clips = 0;
};

/// Writes hearwood/report/ of the survey's folder: index.html, pictures/, clips/. Reads the store
/// and, where they exist, hearwood/tables/robustness.csv and the scores of listening sheets.
/// Errors: MachineError when something cannot be written. A recording that cannot be opened costs
/// its clip only, and the page says so.
ReportSummary write_report(const Survey& survey, Store& store, const ReportOptions& options);

}  // namespace hearwood
