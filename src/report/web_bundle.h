// The page's script and style as bytes of the program; the definitions are generated at build time.
#pragma once

#include <string_view>

namespace hearwood {

extern const std::string_view kPageScript;
extern const std::string_view kPageStyle;

/// Templates of the page, of its sounds and of the summary beside it.
extern const std::string_view kPageTemplate, kSoundsTemplate, kSummaryTemplate;

}  // namespace hearwood
