// A spoilt or missing copy is made anew from one that is right: on another disk, or on the card.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "card/copy_target.h"
#include "survey/survey.h"

namespace hearwood {

/// Copies `source` over `path` of the target (or anew), reads it back, and only then gives it its
/// name. False, and nothing is changed, when what was read or what was written has not this sum.
/// Errors: MachineError, InputError. REQUIRES prepare() of the target.
bool copy_over(CopyTarget& target, const std::string& path, const std::filesystem::path& source,
               const std::string& sha256);

struct RepairOptions {
    std::filesystem::path second;           ///< root of the second copies
    std::optional<std::string> deployment;  ///< only this one; else all
    bool dry_run = false;
    bool quiet = false;
};

struct Repairs {
    std::size_t files = 0;                  ///< named by either list, both copies read
    std::vector<std::string> repaired;      ///< one line each: what was made anew from where
    std::vector<std::string> not_repaired;  ///< one line each: why
    bool interrupted = false;
};

/// Reads both copies of everything that the survey or the second disk has a sum of, and makes anew
/// what is spoilt or missing from the copy that has its sum. Where both lists name a file with
/// different sums nobody can tell which is right (one was silenced, say): that is told and left
/// alone. Errors: InputError for an unknown deployment; MachineError.
Repairs repair_copies(const Survey& survey, const RepairOptions& options);

}  // namespace hearwood
