// What the last offload of a deployment said, kept in survey.db for the board.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

#include "card/offload.h"
#include "store/store.h"

namespace hearwood {

struct OffloadNote {
    bool may_wipe = false;
    std::string why_not;    ///< a clause; empty when it may be wiped
    std::size_t disks = 0;  ///< that hold all of its files, proved
    bool operator==(const OffloadNote&) const = default;
};

OffloadNote note_of(const OffloadResult& result);
/// REQUIRES a transaction. Errors: MachineError.
void keep_note(Store& store, const std::string& deployment, const OffloadNote& note);
/// Not every file of the card is proved: what lacks here may lie on it.
bool half_copied(const Store& store, const std::string& deployment);
std::optional<OffloadNote> kept_note(const Store& store, const std::string& deployment);

/// Of an OFFLOAD.txt no more bytes are read.
inline constexpr std::uint64_t kMostReport = 1u << 30;
/// OFFLOAD.txt while a run is under way; `began` as ProofDates::now() tells it.
std::string unfinished_report(const std::string& began);
/// Whether the last run into this folder is under way, or was killed: the note is then one of hope.
/// Errors: MachineError.
bool is_unfinished(const std::filesystem::path& folder);

}  // namespace hearwood
