// Copies held against the SHA256SUMS beside them, with no need of survey.db, so that it works on a
// second disk alone.
#pragma once

#include <chrono>
#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "survey/survey.h"

namespace hearwood {

struct CopiesOptions {
    /// Roots of second copies (the DIR of offload --second), looked at beside the survey's own.
    std::vector<std::filesystem::path> copies;
    /// The least recently proved first; else by place and name.
    bool oldest_first = false;
    std::optional<std::chrono::minutes> at_most;  ///< begin no file after that long
    bool quiet = false;
};

struct CopiesRead {
    std::size_t lists = 0;    ///< SHA256SUMS found
    std::size_t files = 0;    ///< named by them and read
    std::size_t left = 0;     ///< not reached in the time given
    bool past_memory = true;  ///< false: of some it is not known
    bool interrupted = false;
    std::string oldest;  ///< date of the oldest proof after this; "never" where a copy has none;
                         ///< empty without copies
    std::vector<std::string> differences;  ///< one line each, names escaped for a terminal
};

/// Reads every file that a SHA256SUMS of a deployment's folder names, past the system's memory
/// where that can be, and notes the date of proof in PROVED.txt beside it. Errors: MachineError.
CopiesRead verify_copies(const Survey& survey, const CopiesOptions& options);

/// A path of a SHA256SUMS that stays in its folder.
bool stays_inside(const std::string& name);

}  // namespace hearwood
