// Inside of load_survey: one function a sheet. Each adds all it finds wrong to the problems and
// fills what it could understand, so that the other sheets can be checked all the same.
#pragma once

#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include "base/error.h"
#include "base/sheet.h"
#include "survey/columns.h"
#include "survey/setting_keys.h"
#include "survey/survey.h"

namespace hearwood {

inline constexpr const char* kSettingsFile = "survey.toml";
inline constexpr const char* kSitesFile = "sites.csv";
inline constexpr const char* kDeploymentsFile = "deployments.csv";
inline constexpr const char* kDecisionsFile = "decisions.csv";

/// survey.toml in this folder, by the rows of `sections`.
void read_settings(const std::filesystem::path& folder, std::span<const SettingSection> sections,
                   Settings& settings, std::vector<Problem>& problems);
/// `whole` is false when the sheet could not be read whole: unknown sites are then not told.
void read_sites(Survey& survey, bool& whole, std::vector<Problem>& problems);
/// `all_sites`: every site of the survey is known, so that another name is a problem.
void read_deployments(Survey& survey, bool all_sites, std::vector<Problem>& problems);
/// REQUIRES sites and deployments. Nothing to read is no problem: older surveys have no such sheet.
void read_decisions(Survey& survey, std::vector<Problem>& problems);

// For the CSV readers.

/// Names that head columns in the sheet, but look like a slip of a known one: a warning each.
void warn_of_near_columns(const Sheet& sheet, std::span<const KnownColumn> known,
                          std::vector<Problem>& problems);
/// The position of a required column; a problem that names the nearest header when it is not there.
std::optional<std::size_t> require_column(const Sheet& sheet, const std::string& name,
                                          const std::string& why, std::vector<Problem>& problems);
/// Numbers of the known columns are checked against their bounds; known columns of text stay as
/// they are. In a column of the survey's own an ambiguous number is a problem. Numbers come out in
/// the program's own writing, with a decimal point.
void settle_numbers(Sheet& sheet, std::span<const KnownColumn> known,
                    std::vector<Problem>& problems);
/// True when the name is not empty and has no control characters; else a problem.
bool usable_name(const Sheet& sheet, const SheetRow& row, std::size_t column,
                 std::vector<Problem>& problems);

}  // namespace hearwood
