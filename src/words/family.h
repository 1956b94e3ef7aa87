// What all pages share, those for the screen and those for paper: the type, which comes with them,
// and the colours.
#pragma once

#include <string>
#include <string_view>

namespace hearwood {

/// @font-face rules that hold the faces themselves: "Hearwood Text", regular, italic and bold. A
/// page that has them must allow font-src data:.
const std::string& type_faces();

/// The faces, the colours of paper and ink by day and by night, and what text, links, buttons,
/// cautions and keys look like on a screen.
const std::string& family_style();

extern const std::string_view kTypeRegular, kTypeItalic, kTypeBold;  ///< WOFF2
extern const std::string_view kPaperStyle, kFamilyStyle;

}  // namespace hearwood
