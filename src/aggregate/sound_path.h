// How far sound carries at each site, as the trials found it (docs/trial.md): what is kept in
// survey.db, and the loss that even terms take from it.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/missing.h"
#include "base/table.h"
#include "store/store.h"
#include "survey/survey.h"
#include "survey/trials.h"

namespace hearwood {

/// One band of one play; levels in dB.
struct PathLoss {
    std::string site, deployment;  ///< no deployment where none recorded then
    double distance_m = 0, band_hz = 0;
    double received_db = kMissing;  ///< amplitude of the chirps; 0: a sine at full scale
    double loss_db = kMissing;      ///< beyond spreading, against the play at 2 m
    double se_db = kMissing;        ///< standard error of the loss
    int chirps = 0;                 ///< that stand out from the noise
    std::string played;             ///< as trials.csv has it: "2031-05-04 10:05"
    std::string found;              ///< when the play was found to begin; empty: it was not
    std::string why;                ///< why there is no loss; empty when there is
};
TableOf<PathLoss> path_loss_table();

inline constexpr const char* kTrials = "trials";  ///< name of the kept result
std::string path_losses_json(const std::vector<PathLoss>& losses);

/// What the trials' result would be made from today: trials.csv, clocks, and the recordings that
/// the store knows of the deployments it names. Empty without a trials.csv that can be read.
std::string trials_fingerprint(const Survey& survey, const Store& store);

struct KeptTrials {
    enum class State { none, old, current };
    State state = State::none;
    std::vector<PathLoss> losses;  ///< of today; empty with none and old
};
KeptTrials read_kept_trials(const Survey& survey, const Store& store);

/// Loss beyond spreading against frequency: linear over its logarithm, constant beyond the ends.
struct PathCurve {
    std::vector<std::pair<double, double>> points;  ///< Hz, dB; by frequency, not empty
    double at(double hz) const;
};

/// The curves of these sites (into Survey::sites) at one common distance, 30 or else 25 m: the mean
/// over each site's trials there. Nothing where one of them lacks it in a band that lies below half
/// the sample rate; `lacks` then says what.
std::optional<std::vector<PathCurve>> path_curves(const Survey& survey,
                                                  const std::vector<PathLoss>& losses,
                                                  const std::vector<std::size_t>& sites,
                                                  double sample_rate, std::string& lacks);

}  // namespace hearwood
