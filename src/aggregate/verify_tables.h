// Database and tables held against each other and against the settings.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

/// What does not agree in survey.db itself, with the settings and with the recordings on the disk,
/// a line each.
std::vector<std::string> verify_database(const Survey& survey, const Store& store);

struct TablesVerified {
    std::vector<std::string> disagreements;  ///< a line each
    std::int64_t files = 0;                  ///< of the data package
};

/// The tables made anew from the database (in a folder that is gone at the end) against those on
/// the disk, and these against the data package. Errors: MachineError.
TablesVerified verify_tables(const Survey& survey, const Store& store, bool quiet);

}  // namespace hearwood
