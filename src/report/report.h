// The page: one HTML file that holds its data, charts, script and style, with clips and full-size
// day pictures in folders beside it. Nothing in it depends on the time of writing, the machine or
// the locale.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <span>
#include <vector>

#include "aggregate/coverage.h"
#include "aggregate/site_values.h"
#include "base/table.h"
#include "contrast/audit.h"
#include "survey/survey.h"

namespace hearwood {

class Store;

struct ReportOptions {
    int jobs = 1;
    bool quiet = false;
    bool pictures = true;  ///< day pictures from the kept spectra
    bool clips = true;     ///< 15 s of sound beside the values; needs the recordings at hand
    std::vector<TableDescription> tables;  ///< of results, to be shown where they are there
    /// The audit of the design, from the values and the coverage just worked out.
    std::function<Audit(const SiteValues&, std::span<const DeploymentCoverage>)> audit;
};

/// What was written, for the command to say.
struct ReportSummary {
    std::filesystem::path page;  ///< empty after Ctrl-C: the old page, if any, still stands
    std::uint64_t page_bytes = 0;
    std::size_t pictures = 0, clips = 0;
    std::uint64_t clips_bytes = 0;  ///< of their sounds and pictures on the disk
    std::size_t clips_missing = 0;  ///< chosen, but the recording could not be read
};

/// Writes hearwood/report/ of the survey's folder: index.html, pictures/, clips/. Reads the store
/// and, where they exist, the tables of contrasts, profiles, covariates, robustness and listening
/// in hearwood/tables/, so that page and files cannot differ. Errors: as JudgedSegments (not
/// measured, other settings); InputError when one of those tables cannot be read; MachineError when
/// something cannot be written. A recording that cannot be opened costs its clip only, and the page
/// says so.
ReportSummary write_report(const Survey& survey, const Store& store, const ReportOptions& options);

}  // namespace hearwood
