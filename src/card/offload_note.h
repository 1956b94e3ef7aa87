// What the last offload of a deployment said, kept in survey.db for the board.
#pragma once

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

}  // namespace hearwood
