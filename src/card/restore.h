// What a second disk alone gives back: the sheets that offload keeps on it, and the proofs of
// copies that stand beside them, for a survey.db that has to be built anew.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// Keeps the survey's sheets, and what was forgotten, on a second disk, so that its folder is a
/// survey of its own. A file that stands there and was not written by this is left alone: its name
/// comes back. Errors: MachineError.
std::vector<std::string> keep_sheets(const std::filesystem::path& survey_folder,
                                     const std::filesystem::path& second);

/// Makes rows for recordings that the store does not know and that a SHA256SUMS of offload names:
/// each is read, and where it has its sum its proof and its path on the card stand in the row.
/// Returns how many. Errors: MachineError.
std::size_t restore_proofs(const Survey& survey, Store& store, bool quiet);

}  // namespace hearwood
