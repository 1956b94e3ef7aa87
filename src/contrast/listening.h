// What a listening check found, as `listen --score` left it in tables/listening.csv: beside each
// index, how well it followed the ear, and the sentence that every verdict carries.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace hearwood {

struct ListeningResult {
    std::string index, heard;           ///< heard: "fullness" or "kinds"
    double rho = 0, low = 0, high = 0;  ///< NaN: missing
    int clips = 0, sites = 0, listeners = 0;
    std::string verdict;  ///< "follows", "unclear", "does not follow", "opposite", "too few clips"
};

/// Empty when there is no such file: no listening check was made. Errors: InputError when it is no
/// such table.
std::vector<ListeningResult> read_listening(const std::filesystem::path& tables_folder);

/// "In a blind listening check (60 clips, 12 sites, 2 listeners) aci followed the ear (rho 0.61,
/// 0.32 to 0.80 with fullness); bi and ndsi did not." The index named stands first. Empty for no
/// results.
std::string listening_sentence_of(const std::vector<ListeningResult>& results,
                                  const std::string& first_index);

/// "followed the ear here (rho 0.61)" or "did not follow the ear here (rho 0.05)"; empty when it
/// was not checked.
std::string listening_mark(const std::vector<ListeningResult>& results, const std::string& index);

/// The same as a sign for a table: '+' followed, 'x' did not, '-' went against, '?' unclear,
/// ' ' not checked.
char listening_sign(const std::vector<ListeningResult>& results, const std::string& index);
/// What the signs mean, a line; empty when nothing was checked.
std::string listening_legend(const std::vector<ListeningResult>& results);

}  // namespace hearwood
