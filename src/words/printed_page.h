// What is printed for people in the field: deployment sheets, notice, summary. The style is set for
// A4: with texts of any length a page stays below 271 mm, with usual ones below the 246 mm of US
// letter.
#pragma once

#include <string>
#include <string_view>

#include "base/html_template.h"
#include "words/words.h"

namespace hearwood {

/// A template that says its sentences in that language. The words must outlive it.
HtmlTemplate in_language(std::string_view file, const Words& words);
/// A whole document of such pages, nothing loaded from elsewhere.
Html printed_document(const Words& words, const std::string& title, const Html& pages);
/// That no native reader has looked at the language yet; empty where one has.
Html unchecked_note(const Words& words);
/// A fact of a sheet; a line to write on where it is not known. `common` is kSheetTemplate in the
/// sheet's language.
Html fact_row(const HtmlTemplate& common, std::string_view label, const std::string& value);

extern const std::string_view kSheetStyle, kSheetTemplate;

}  // namespace hearwood
