// The trial: finds the plays that trials.csv names in the recordings and works out what each stand
// takes off sound (docs/trial.md).
#pragma once

#include <vector>

#include "aggregate/sound_path.h"
#include "store/store.h"
#include "survey/survey.h"
#include "survey/trials.h"

namespace hearwood {

struct TrialOptions {
    int jobs = 1;
    bool quiet = false;
};

/// Every play in every band, by the rows of `trials` and then by band. A play that is not found, or
/// not heard in a band, has a row that says why. The same for any number of jobs. Errors:
/// Interrupted.
std::vector<PathLoss> find_trials(const Survey& survey, const Store& store,
                                  const std::vector<Trial>& trials, const TrialOptions& options);

/// Losses beyond spreading in dB, for the terminal, a line a play and its bands side by side; plays
/// at 2 m, against which they are, only where one was not heard.
std::string losses_text(const std::vector<PathLoss>& losses);

}  // namespace hearwood
