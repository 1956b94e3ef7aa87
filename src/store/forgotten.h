// hearwood/forgotten.csv: which stretches of which recordings were silenced, and their hashes
// before and after. A stretch stands there before it is silenced, without the hash after: what a
// killed `forget` left undone is known by that.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace hearwood {

struct ForgottenStretch {
    std::string recording;  ///< path from the survey folder, as in the store
    double from_s = 0, to_s = 0;
    std::string sha256_before;
    std::string sha256_after;  ///< empty: intended, and not known to be done
    std::string forgotten_utc;
    std::string reason;

    bool done() const { return !sha256_after.empty(); }
    bool is_of(const std::string& path, double from, double to) const {
        return recording == path && from_s == from && to_s == to;
    }
};

std::filesystem::path forgotten_file(const std::filesystem::path& survey_folder);

/// In the order in which it was done; empty without the file. Errors: InputError for a file that is
/// no such table: what must stay silent must not be guessed.
std::vector<ForgottenStretch> read_forgotten(const std::filesystem::path& survey_folder);

/// The whole file, in one step. Errors: MachineError.
void write_forgotten(const std::filesystem::path& survey_folder,
                     const std::vector<ForgottenStretch>& stretches);

}  // namespace hearwood
