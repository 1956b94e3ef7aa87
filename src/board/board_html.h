// The board's template, a file of the program. Internal to this folder.
#pragma once

#include <string_view>

namespace hearwood {

extern const std::string_view kBoardTemplate;

}  // namespace hearwood
