// The page itself. Internal to this folder.
#pragma once

#include <string>

#include "report/page.h"

namespace hearwood {

/// The whole file: head with its Content-Security-Policy, the words, the places that the script
/// draws into, the data, script and style.
std::string page_html(const Page& page);

// The parts, each a section or a run of them.
std::string answer_section(const Page& page);
std::string pitch_section(const Page& page);
std::string doubts_section(const Page& page);
/// Pairs to hear; empty where there are none.
std::string hear_section(const Page& page);
std::string sounds_section(const Page& page);
std::string methods_section(const Page& page);
/// The methods paragraph alone.
std::string methods_text(const Page& page);

/// <section> with its heading.
std::string section(const std::string& id, const std::string& heading, const std::string& body);
/// Places for the charts that the script draws, by name.
std::string charts(std::initializer_list<const char*> names);
/// A place for a table behind a summary line; `table` is its name in the data.
std::string table_place(const std::string& table, const std::string& name);
/// <p class="...">, the text escaped.
std::string paragraph(const std::string& text, const std::string& css_class = {});
std::string base64(std::string_view bytes);

}  // namespace hearwood
