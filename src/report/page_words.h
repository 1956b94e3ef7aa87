// The page's first sentences: the answer and its main doubt. Internal to this folder.
#pragma once

#include <string>

#include "report/page.h"

namespace hearwood {

/// The answer in plain words, before any number of the test: which class is higher, how far the
/// sites overlap, and whether the same holds on even terms. Empty where there is no contrast.
std::string plain_answer(const Page& page);

/// The primary contrast: its verdict, with the index named in full.
std::string answer_sentence(const Page& page);

/// What speaks most against it, a sentence; never empty.
std::string main_doubt(const Page& page);

/// "14 April to 2 May 2031": the dates with segments; empty when there are none.
std::string date_range(const Page& page);

}  // namespace hearwood
