// Every table of this folder, described: for the data package and the docs.
#pragma once

#include <vector>

#include "base/table.h"

namespace hearwood {

/// In the order of the data package. The settings table has the columns of every factor there is.
std::vector<TableDescription> contrast_tables();

}  // namespace hearwood
