// The decisions of decisions.csv where they meet the recordings: which segments do not count, which
// screens do not exclude where, which starts are set right.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "screen/rules.h"
#include "survey/survey.h"
#include "survey/zone.h"

namespace hearwood {

class Store;

class Decided {
  public:
    explicit Decided(const Survey& survey);

    /// The decision (into Survey::decisions) that leaves out what a recording holds at this
    /// instant: the midpoint of a segment, as everywhere.
    std::optional<std::size_t> left_out(std::size_t deployment, const std::string& recording,
                                        Instant middle) const;
    /// The decision that leaves out a whole recording, whatever its time.
    std::optional<std::size_t> left_out_whole(std::size_t deployment,
                                              const std::string& recording) const;
    /// Whether any decision leaves out something of a recording that lasts from one instant to
    /// another.
    bool takes_from(std::size_t deployment, const std::string& recording, Instant begins,
                    Instant ends) const;
    /// Screens that do not exclude at a site.
    Reasons kept_at(std::size_t site) const { return kept_[site]; }

  private:
    struct Absence {
        std::string recording;  ///< empty: all of the deployment
        std::optional<Instant> begins, ends;
        std::size_t decision;

        bool concerns(const std::string& one) const {
            return recording.empty() || recording == one;
        }
    };
    std::vector<std::vector<Absence>> absences_;  ///< by deployment
    std::vector<Reasons> kept_;                   ///< by site
};

/// Errors: InputError, a problem for each decision whose recording is neither in the store nor on
/// the disk, and for each clock decision of a deployment without recordings.
void refuse_idle_decisions(const Survey& survey, const Store& store);

}  // namespace hearwood
