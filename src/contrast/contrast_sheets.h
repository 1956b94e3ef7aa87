// `contrast --values` and `--profiles`: the tests for anything that was measured at sites, from
// sheets of one's own.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace hearwood {

struct SheetsQuestion {
    std::string values, profiles;     ///< files; one of them or both
    std::string compare, primary;     ///< "A,B" and "INDEX,WINDOW"; may be empty
    std::vector<std::string> adjust;  ///< columns of the values
    std::string gradient;             ///< such a column; may be empty
    std::optional<double> cluster_threshold;
    std::optional<std::uint64_t> seed;
    std::optional<double> level, matters;
    bool all = false;  ///< every secondary outcome in the text
};

struct SheetsAnswer {
    struct File {
        std::string what;  ///< "pairs"; empty: the contrasts themselves
        std::string bytes;
    };
    std::string text;  ///< for the terminal, all but the verdict
    std::vector<File> files;
    std::string verdict;
};

/// A column that cannot be used is told on stderr, and the rest goes without it. Errors:
/// InputError.
SheetsAnswer contrast_sheets(const SheetsQuestion& question);

}  // namespace hearwood
