// What the recordings of a card tell, held against each other and against the deployment.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

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
    std::string damage;  ///< what opening it found; empty: nothing
};

struct CardFinding {
    enum class Kind {
        damaged,  ///< truncated, header never finished, unreadable, empty ...
        no_start_time,
        clock_reset,     ///< starts when it cannot have: see kPlausibleAroundDates
        outside,         ///< outside the deployment's start and end
        other_format,    ///< another rate, channel count or depth than the rest
        other_recorder,  ///< another serial number than the rest
        duplicate,       ///< the same content as another file
        overlap,         ///< begins before the one before it ends
        gap,             ///< a hole that the rhythm of the card does not have
        short_file,      ///< ends earlier than the others do
    };
    Kind kind;
    std::string path;
    std::string text;  ///< what was seen: one clause, no full stop
};

/// A heading for a kind, in the plural: "damaged recordings".
const char* heading(CardFinding::Kind kind);

/// Sorted by kind, then path. `deployment` gives the dates that are plausible. Cost n log n.
std::vector<CardFinding> find_in_card(std::span<const CardRecording> recordings,
                                      const Survey& survey, const Deployment& deployment);

}  // namespace hearwood
