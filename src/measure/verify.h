// Do the recordings on the disk and the store still agree? Everything is read again: sums are
// compared, and every segment is measured anew and held against what is stored.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct Verification {
    std::int64_t recordings = 0;  ///< read again
    std::int64_t hashed = 0;      ///< whose SHA-256 was compared
    std::int64_t segments = 0;    ///< measured again and compared
    bool to_the_bit = true;  ///< false: another processor path had measured them, so that values
                             ///< were compared within kOtherPathTolerance
    bool interrupted = false;
    std::vector<std::string> disagreements;  ///< one line each, file names escaped for a terminal
};

/// Absolute below 1, relative above: what two processor paths may differ by (docs/measures.md).
inline constexpr double kOtherPathTolerance = 2e-3;

/// REQUIRES: the store's settings are those of the survey.
Verification verify_recordings(const Survey& survey, const Store& store, int jobs, bool quiet);

}  // namespace hearwood
