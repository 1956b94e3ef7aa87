// The tables that later stages than tabulate write into hearwood/tables/, described.
#pragma once

#include <string>
#include <vector>

#include "base/table.h"

namespace hearwood {

/// Of contrast, robustness, listen, even and trial, in the order of the data package.
std::vector<TableDescription> result_tables();

/// docs/tables.md with the columns of every table as the program describes them.
std::string with_described_tables(const std::string& page);

}  // namespace hearwood
