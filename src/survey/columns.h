// The columns of sites.csv, deployments.csv and decisions.csv that the program knows.
#pragma once

#include <span>
#include <string>
#include <utility>

namespace hearwood {

/// A column that the program knows.
struct KnownColumn {
    const char* name;
    const char* unit;     ///< "" for text
    double least, most;   ///< bounds of a number, ends included
    const char* meaning;  ///< for the data package
    bool is_text() const { return unit[0] == '\0'; }
};
/// Of each sheet, the required ones first.
std::span<const KnownColumn> known_site_columns();
std::span<const KnownColumn> known_deployment_columns();
std::span<const KnownColumn> known_decision_columns();
/// The known column of that name; null for a column of the survey's own.
const KnownColumn* find_column(std::span<const KnownColumn> known, const std::string& name);

/// A numeric column of either sheet as a sentence has it, and its unit: {"canopy height", "m"} for
/// "canopy_height_m", {"recorder gain", "dB"} for "gain_db" and "deployments.gain_db". A column of
/// the survey's own is taken at its word: {"soil carbon", "%"} for "soil_carbon_pct", {"slope
/// class", ""} for "slope_class".
std::pair<std::string, std::string> column_in_words(const std::string& name);

}  // namespace hearwood
