// trials.csv: where and when the sound of the trial was played, and how far from the recorder
// (docs/trial.md). The sheet is optional.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/error.h"
#include "base/wall_time.h"
#include "survey/survey.h"

namespace hearwood {

inline constexpr const char* kTrialsFile = "trials.csv";

/// The distance that the others are held against.
inline constexpr double kNearestTrialM = 2;

/// A row: one play of the sound.
struct Trial {
    std::size_t site = 0;                   ///< into Survey::sites
    std::optional<std::size_t> deployment;  ///< into Survey::deployments, where the row names it
    LocalTime time;                         ///< in the survey's zone, to the minute
    double distance_m = 0;                  ///< from the speaker to the recorder
    std::string notes;
    std::size_t line = 0;
};

/// By site, deployment and time. None where the sheet is not there; what is wrong with it is added
/// to the problems.
std::vector<Trial> read_trials(const Survey& survey, std::vector<Problem>& problems);
/// The same for a command: warnings are told on stderr. Errors: InputError.
std::vector<Trial> usable_trials(const Survey& survey);

}  // namespace hearwood
