// The sheets of a new survey, with comments and example rows.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace hearwood {

/// A file of a new survey: its name in the folder and its text.
struct NewSheet {
    std::string name, text;
};

/// survey.toml with every key (those with a default commented out, as '#key = default'), sites.csv
/// with one example site of each class, deployments.csv with one example deployment of each site,
/// decisions.csv with its header. All of it is invented.
std::vector<NewSheet> new_survey_sheets();
/// The same with these sites in place of the example ones, and no deployments yet.
std::vector<NewSheet> new_survey_sheets(const std::string& sites);

/// Writes them and makes recordings/. Errors: InputError when a sheet is there already (nothing is
/// written then), MachineError.
void write_new_survey(const std::filesystem::path& folder,
                      const std::vector<NewSheet>& sheets = new_survey_sheets());

}  // namespace hearwood
