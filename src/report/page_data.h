// What the page's script draws from: one JSON document. Internal to this folder.
#pragma once

#include <string>

#include "report/page.h"

namespace hearwood {

/// Compact JSON, keys in a fixed order, numbers as the shortest text that reads back the same; '<'
/// is written as an escape, so that no text can end the script element it stands in.
std::string page_data_json(const Page& page);

}  // namespace hearwood
