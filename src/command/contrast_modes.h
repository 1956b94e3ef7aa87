// The two ways of `contrast`.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/error.h"
#include "command/command.h"

namespace hearwood {

struct ContrastOptions {
    std::string survey;  ///< one of these two
    std::string values;
    std::string profiles;               ///< a sheet of patterns; with or without values
    std::string compare, primary, out;  ///< with values or profiles only, and so is what follows
    std::vector<std::string> adjust;    ///< columns of the values
    std::string gradient;
    std::optional<double> cluster_threshold;
    bool all = false;  ///< every secondary outcome on the terminal
    std::optional<std::uint64_t> seed;
    std::optional<double> level, matters;
    bool history = false;  ///< of a survey
    SharedOptions shared;
};

ExitCode run_contrast_values(const ContrastOptions& options);
ExitCode run_contrast_survey(const ContrastOptions& options);
/// A contrast that is refused leaves no tables of an earlier one behind, which would be read as its
/// answer. A decision that is not understood is not taken: then all stays as it was.
void take_away_old_contrast(const std::string& survey_folder, const InputError& refusal);
/// What the survey declared, and when.
ExitCode print_history(const ContrastOptions& options);

}  // namespace hearwood
