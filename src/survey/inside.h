// Whether a path stays in the survey's folder once symbolic links are followed: nothing outside of
// it is ever written.
#pragma once

#include <filesystem>
#include <vector>

#include "base/error.h"

namespace hearwood {

/// True when a symbolic link on the way of `relative` leads out of the folder, or round in a
/// circle. What is not there yet counts as inside.
bool leads_out(const std::filesystem::path& folder, const std::filesystem::path& relative);

/// A problem for every link below the survey folder's hearwood/, and hearwood/ itself, that leads
/// out. load_survey asks, so that no command writes through one.
std::vector<Problem> links_out_of(const std::filesystem::path& survey_folder);

}  // namespace hearwood
