// The page itself. Internal to this folder.
#pragma once

#include <string>

#include "base/html_template.h"
#include "report/page.h"

namespace hearwood {

/// The whole file: head with its Content-Security-Policy, the words, the places that the script
/// draws into, the data, script and style.
std::string page_html(const Page& page);

// The parts, each a section or a run of them.
Html answer_section(const Page& page);
Html pitch_section(const Page& page);
Html doubts_section(const Page& page);
/// Pairs to hear; empty where there are none.
Html hear_section(const Page& page);
Html sounds_section(const Page& page);
Html methods_section(const Page& page);
/// The methods paragraph alone.
std::string methods_text(const Page& page);

/// web/page.html.
const HtmlTemplate& page_template();
/// <section> with its heading.
Html section(const std::string& id, const std::string& heading, const Html& body);
/// Places for the charts that the script draws, by name.
Html charts(std::initializer_list<const char*> names);
/// A place for a table behind a summary line; `table` is its name in the data.
Html table_place(const std::string& table, const std::string& name);
/// <p>; `part` of the template: "paragraph", "note", "subtitle", "caution".
Html paragraph(const std::string& text, const char* part = "paragraph");

}  // namespace hearwood
