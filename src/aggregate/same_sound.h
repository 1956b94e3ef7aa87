// The same sound at two sites: a card that was copied into two deployments makes two sites of one.
#pragma once

#include <string>
#include <vector>

#include "base/finding.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct SameSound {
    std::size_t site_a = 0, site_b = 0;  ///< into Survey::sites, a < b
    std::string deployment_a, deployment_b;
    std::string recording_a, recording_b;  ///< the first two that are equal, as in the store
    std::int64_t recordings = 0;           ///< with equal SHA-256
    std::int64_t segments = 0;  ///< with equal kept spectra, of recordings without a SHA-256
};

/// Deployments of different sites with equal recordings: by SHA-256 where both are known, else by
/// kept spectra, of which at least kLeastEqualSegments must be equal over all recordings (spectra
/// without sound do not count). By the deployments' names. Reads a row a recording and, where any
/// lacks a SHA-256, one spectrum of each.
std::vector<SameSound> same_sounds(const Survey& survey, const Store& store);
inline constexpr std::int64_t kLeastEqualSegments = 3;

/// Each pair as a finding, serious: neither site is used until it is settled.
std::vector<Finding> findings_of(const std::vector<SameSound>& same, const Survey& survey);

}  // namespace hearwood
