// The listening page. Internal to this folder.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace hearwood {

extern const std::string_view kListenScript;
extern const std::string_view kListenStyle;

/// The whole HTML file. All that it knows of the survey are the clips' neutral names, in the order
/// of playing.
std::string listening_page(const std::string& sheet, const std::vector<std::string>& clips,
                           double seconds);

}  // namespace hearwood
