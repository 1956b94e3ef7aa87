// The board: how it stands with each deployment, from the recorder that is out to the card that may
// be wiped, and what to do next (docs/board.md).
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "aggregate/card_traits.h"
#include "aggregate/coverage.h"
#include "base/finding.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// A line: one deployment.
struct BoardLine {
    std::size_t deployment = 0;  ///< into Survey::deployments
    int visit = 1;               ///< of its site (visit_of)
    std::size_t files = 0;       ///< recordings that are in the survey
    std::size_t proved = 0;      ///< of them those whose copy here was once read back equal
    std::size_t copies = 0;      ///< proved ones of all files, on so many disks; 0 to 2
    std::string read_back;       ///< date (UTC) since which all of them here were read back; empty
    std::optional<bool> may_wipe;  ///< as the last offload said it; nothing: it was not offloaded
    std::string why_not;           ///< a clause
    std::optional<FindingCode> microphone;  ///< what its first hours show against it
    bool heard = false;                     ///< they were listened to
    std::string clock;                      ///< "checked", "1 check", "unchecked", "+1 h?", "reset"
    double hours = 0, expected_hours = 0;   ///< recorded of expected, within its dates
    bool measured = false;                  ///< all that is there
    bool left_out = false;                  ///< by a decision, wholly
    int urgency = 0;                        ///< 0: soonest
    std::string next;                       ///< what to do, in a few words; empty: nothing
    std::vector<Finding> findings;          ///< of the card, its hours and its clock
};

/// By visit, the latest first, then what needs a hand soonest, then name. Reads survey.db and the
/// lists of proofs beside the copies, opens no recording. Errors: MachineError.
std::vector<BoardLine> board(const Survey& survey, const Store& store);

/// The line of one deployment among them.
BoardLine board_line(const Survey& survey, const Store& store, const std::string& deployment);

/// A header and a line each, visits apart.
std::string board_text(const Survey& survey, std::span<const BoardLine> lines);
/// What the findings of the board say, the worst first, `most` at most.
std::string board_findings(std::span<const BoardLine> lines, std::size_t most);
/// A page by itself.
std::string board_html(const Survey& survey, std::span<const BoardLine> lines);

}  // namespace hearwood
