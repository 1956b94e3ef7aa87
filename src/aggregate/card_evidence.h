// Cards held against the sheet and against each other: a dead microphone, another gain, a clock a
// whole number of hours off, cards that were swapped (docs/board.md).
#pragma once

#include <span>
#include <string>
#include <vector>

#include "aggregate/card_traits.h"
#include "base/finding.h"

namespace hearwood {

/// What speaks of a fault, one finding a deployment and code, deployments in the order given. Those
/// left out whole by a decision take no part. Every deployment that has recordings should be among
/// `cards`: each is compared with the others.
std::vector<Finding> card_evidence(const Survey& survey, const Placer& placer,
                                   std::span<const CardTraits> cards);

/// The same from what the store holds.
std::vector<Finding> card_evidence(const Survey& survey, const Store& store);

/// Whether a finding is one of these.
bool is_of_card(FindingCode code);

/// By so many whole hours a deployment's clock is ahead (negative: behind); nothing where nothing
/// speaks of it. `others`: the other cards.
struct HoursOff {
    int ahead = 0;
    std::string why;  ///< a clause
};
std::optional<HoursOff> hours_off(const Survey& survey, const Placer& placer,
                                  const CardTraits& card,
                                  std::span<const CardTraits* const> others);

}  // namespace hearwood
