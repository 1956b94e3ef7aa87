// The tables that later stages than tabulate write into hearwood/tables/, described.
#pragma once

#include <vector>

#include "base/table.h"

namespace hearwood {

/// Of contrast, robustness and listen, in the order of the data package.
std::vector<TableDescription> result_tables();

}  // namespace hearwood
