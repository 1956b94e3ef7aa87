// The CSV tables and the data package in hearwood/tables/ (docs/tables.md). The same survey gives
// the same bytes whatever the number of threads, the order of runs or the restarts before.
#pragma once

#include <filesystem>

#include "aggregate/site_values.h"
#include "base/progress.h"
#include "survey/survey.h"

namespace hearwood {

class Store;

struct TablesWritten {
    std::size_t segments = 0, kept = 0;
    std::size_t recordings = 0,
                unusable = 0;  ///< files found; those with no segment that can be used
    SiteValues values;
};

/// Writes segments.csv, site_hours.csv, site_windows.csv, hours.csv, recordings.csv, coverage.csv
/// and datapackage.json into `folder`, in one pass over the segments. Each file appears whole or
/// not at all. Errors: as compute_site_values; MachineError when a file cannot be written.
TablesWritten write_tables(const Survey& survey, const Store& store,
                           const std::filesystem::path& folder, bool quiet);

/// Writes datapackage.json anew, describing the tables that are there; contrast calls it after its
/// own.
void write_data_package(const Survey& survey, const Store& store,
                        const std::filesystem::path& folder);

}  // namespace hearwood
