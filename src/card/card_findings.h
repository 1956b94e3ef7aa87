// What the recordings of a card tell, held against each other and against the deployment.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/finding.h"
#include "survey/survey.h"

namespace hearwood {

/// One recording of the card, as its copy shows it.
struct CardRecording {
    std::string path;  ///< on the card
    std::uint64_t size = 0;
    std::string sha256;
    std::optional<Instant> start;  ///< true time; nothing when it has no start time
    double seconds = 0;            ///< 0 when it cannot be used
    int sample_rate = 0, channels = 0, bits = 0;
    std::string serial;
    std::string damage;          ///< what opening it found; empty: nothing
    std::filesystem::path copy;  ///< where the copy lies; empty in tests
};

/// A heading for findings of a card, in the plural: "damaged recordings".
const char* heading(FindingCode code);

/// Each about a recording of the card, by its path there. Sorted by code, then path. `deployment`
/// gives the dates that are plausible. Cost n log n.
std::vector<Finding> find_in_card(std::span<const CardRecording> recordings, const Survey& survey,
                                  const Deployment& deployment);

}  // namespace hearwood
