// Results that take long to make and are therefore kept in survey.db: robustness and the listening
// score. Each is kept with a fingerprint, SHA-256 over what it was made under and from; where
// today's is another one the result is old, and is told as old instead of shown.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "aggregate/site_values.h"
#include "base/finding.h"
#include "contrast/listening.h"
#include "contrast/robustness.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

inline constexpr const char* kRobustness = "robustness";
inline constexpr const char* kListening = "listening";

/// What a kept result of that name would be made under and from today: the parts of the sheets that
/// it hangs on, the measuring settings, and the averages of the kept segments.
std::string fingerprint_of(const std::string& name, const Survey& survey, const SiteValues& values);

std::string robustness_json(const Robustness& robustness);
std::string listening_json(const ListeningScore& score);

struct KeptResults {
    std::optional<Robustness> robustness;  ///< today's; nothing when there is none, or an old one
    std::optional<ListeningScore> listening;  ///< likewise
    std::vector<std::string> old;             ///< names of those that are old, in a fixed order

    bool is_old(const std::string& name) const;
    /// What listening says of the indices; empty without a score of today.
    std::vector<ListeningResult> heard() const;
};

/// `values` may be null: nothing is measured under today's settings, so that whatever is kept is
/// old.
KeptResults read_kept_results(const Survey& survey, const SiteValues* values, const Store& store);

/// A finding for each old result, with the command that renews it.
std::vector<Finding> told_as_old(const KeptResults& kept);

}  // namespace hearwood
