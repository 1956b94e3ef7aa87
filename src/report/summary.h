// The answer in plain words, a page to print for the people of the place, in the survey's language.
#pragma once

#include <string>
#include <vector>

#include "report/page.h"
#include "words/words.h"

namespace hearwood {

/// Design, answer, what may lie behind it, what the number is: a sentence or two each. The answer
/// is that of the primary outcome, and never says more than its verdict.
std::vector<std::string> summary_sentences(const Page& page, const Words& words);

/// A whole HTML document, nothing loaded from elsewhere.
std::string summary_html(const Page& page);

}  // namespace hearwood
