// The listening page. Internal to this folder.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace hearwood {

extern const std::string_view kListenScript;
extern const std::string_view kListenStyle;
extern const std::string_view kListenTemplate;

/// The whole HTML file. All that it knows of the survey are the clips' neutral names, in the order
/// of playing.
/// `plot_from` and `plot_to`: where time begins and ends in the pictures, shares of their width.
std::string listening_page(const std::string& sheet, const std::vector<std::string>& clips,
                           double seconds, double plot_from = 0, double plot_to = 1);

}  // namespace hearwood
