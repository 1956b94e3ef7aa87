// The CSV tables and the data package in hearwood/tables/ (docs/tables.md). The same survey gives
// the same bytes whatever the number of threads, the order of runs or the restarts before.
#pragma once

#include <filesystem>
#include <span>
#include <vector>

#include "aggregate/coverage.h"
#include "aggregate/site_values.h"
#include "base/table.h"
#include "survey/survey.h"

namespace hearwood {

class Store;

struct TablesWritten {
    std::size_t recordings = 0,
                unusable = 0;  ///< files found; those damaged or unreadable
    SiteValues values;
    std::vector<DeploymentCoverage> coverages;  ///< by deployment name
};

/// hearwood/tables of a survey folder.
std::filesystem::path tables_folder(const std::filesystem::path& survey_folder);

/// The tables of tabulate, described, in the order of the data package. The survey must outlive
/// them.
std::vector<TableDescription> survey_tables(const Survey& survey);

/// A table that was written earlier, by the header that stands in it, so that the package never
/// tells of a column that is not there: a file of an older version may have others.
TableDescription described_by_header(const TableDescription& table,
                                     const std::vector<std::string>& header);

/// Writes segments.csv, site_hours.csv, site_windows.csv, hours.csv, windows.csv, recordings.csv,
/// coverage.csv, decisions_applied.csv, copies of the sheets and datapackage.json into `folder`.
/// Each file appears whole or not at all. Errors: as compute_site_values; MachineError when a file
/// cannot be written. `results` describes the tables of later stages, for the package.
TablesWritten write_tables(const Survey& survey, const Store& store,
                           const std::filesystem::path& folder, bool quiet,
                           std::span<const TableDescription> results = {});

/// datapackage.json of a folder whose tables lie in its `below` ("" or "data/"), describing those
/// that are there.
std::string data_package_of(const Survey& survey, const Store& store,
                            const std::filesystem::path& folder, const std::string& below,
                            std::span<const TableDescription> results);

/// Writes datapackage.json anew, describing the tables that are there, those of `results` among
/// them; contrast calls it after its own.
void write_data_package(const Survey& survey, const Store& store,
                        const std::filesystem::path& folder,
                        std::span<const TableDescription> results = {});

}  // namespace hearwood
