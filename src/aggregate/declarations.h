// What was declared about the contrast, and when: a history in survey.db, a record a change.
// "Declared before the data were seen" is then a fact, not a phrase. The history is as trustworthy
// as the file that holds it: who moves survey.db away begins a new one.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/wall_time.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct Declaration {
    std::string time;                           ///< UTC, "2031-05-04T05:40:00Z"
    std::string primary_index, primary_window;  ///< both empty: none declared
    std::string class_a, class_b, block;
    double level = 0.95;
    std::optional<double> matters;  ///< smallest difference of interest, in the primary's unit
    std::int64_t segments = 0;      ///< measured by then

    bool same_primary(const Declaration& other) const {
        return primary_index == other.primary_index && primary_window == other.primary_window;
    }
    /// All but time and segments.
    bool same_plan(const Declaration& other) const;
};

/// In the order in which they were made. Errors: MachineError when the record cannot be read.
std::vector<Declaration> declarations(const Store& store);

/// Adds what the survey declares now, unless it is what stands there last. REQUIRES a store open
/// for writing and no transaction under way.
void note_declaration(const Survey& survey, Store& store, Instant now);

/// For commands that otherwise only read: nothing is opened for writing unless something changed,
/// and then without waiting for a program that is writing; where the change could not be noted
/// stderr says so.
void note_declaration_if_free(const Survey& survey, const Store& store, Instant now);

Instant current_time();

/// What a methods paragraph says of the primary outcome, a sentence or two.
std::string declared_when(const std::vector<Declaration>& history);

/// A line for each record, for the terminal.
std::string declaration_history(const std::vector<Declaration>& history);

}  // namespace hearwood
