// The tables of averages, and the sheets as they were read.
#pragma once

#include <filesystem>

#include "aggregate/site_values.h"
#include "base/table.h"
#include "survey/survey.h"

namespace hearwood {

// The survey must outlive the tables.
TableOf<DateMean> site_hours_table(const Survey& survey);
TableOf<DateMean> site_windows_table(const Survey& survey);
TableOf<SiteMean> hours_table(const Survey& survey);
TableOf<SiteMean> windows_table(const Survey& survey);
/// The sheets as they were read, so that the package stands alone.
TableOf<Site> sites_table(const Survey& survey);
TableOf<Deployment> deployments_table(const Survey& survey);

/// Writes site_hours.csv, site_windows.csv, hours.csv and windows.csv into the folder.
void write_mean_tables(const Survey& survey, const SiteValues& values,
                       const std::filesystem::path& folder);

/// Writes sites.csv and deployments.csv into the folder: UTF-8, comma, decimal points.
void write_sheet_tables(const Survey& survey, const std::filesystem::path& folder);

}  // namespace hearwood
