// decisions.csv: what a person decided about the data, with the reason. Nothing is ever deleted: a
// row that is taken out again leaves everything as it was (docs/decisions.md).
#pragma once

#include <cstddef>
#include <optional>
#include <string>

#include "base/wall_time.h"

namespace hearwood {

struct Survey;

struct Decision {
    enum class Kind {
        leave_out,    ///< a site, a deployment or a recording does not count, or not for some time
        clock,        ///< the true start of a deployment's first recording, or of a named one
        belongs_to,   ///< the recordings are those of another deployment: the cards were swapped
        sample_rate,  ///< a deployment's recordings are measured at a lower rate
        keep,         ///< a screen does not exclude at a site
    };
    Kind kind = Kind::leave_out;
    // As they stand in the sheet.
    std::string date, subject, from, to, value, reason, by;

    /// What the subject names: a site, or a deployment, or a recording of a deployment.
    std::optional<std::size_t> site, deployment;
    std::string recording;                  ///< path from the survey folder, as in segments.csv;
                                            ///< of a clock decision: the one that `from` names
    std::optional<LocalTime> begins, ends;  ///< leave_out: [begins, ends) of the local clock
    std::optional<LocalTime> true_start;    ///< clock
    std::optional<std::size_t> stands_in;   ///< belongs_to: the other deployment
    int sample_rate = 0;                    ///< sample_rate: Hz
    std::string screen;                     ///< keep: "rain", "wind" ...
    std::size_t line = 0;

    bool whole() const { return !begins && !ends; }
};

/// "leave_out", "clock", "belongs_to", "sample_rate", "keep": as the sheet has them.
const char* name_of(Decision::Kind kind);

/// "leave_out of D03 from 2031-05-04 18:00 to 2031-05-05 06:00": a decision without its reason, for
/// tables and sentences.
std::string in_short(const Decision& decision);

/// The same as a clause for sentences: "S2 was left out from 2031-05-04 18:00 on".
std::string in_words(const Decision& decision);

/// The rate at which a deployment's recordings are measured by decision; 0: their own.
int decided_rate_of(const Survey& survey, std::size_t deployment);

/// Gives the deployments what the decisions say of them: a swapped card gets the other deployment's
/// site, dates, clock and all else that its row says but name and folder.
void apply_decisions(Survey& survey);

/// The survey as if the decision with this number had never been made.
Survey without_decision(const Survey& survey, std::size_t decision);

}  // namespace hearwood
