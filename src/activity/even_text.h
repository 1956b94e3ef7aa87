// What the terminal says of even terms.
#pragma once

#include <string>

#include "aggregate/even_terms.h"
#include "aggregate/site_values.h"

namespace hearwood {

/// How levels were held against each other; of each window whose noise all are heard through, what
/// choirs take out, and which sites are too loud to compare.
std::string terms_text(const Survey& survey, const EvenTerms& terms);

/// Windows in which hardly anything is left to count, and what to do; else empty.
std::string drowned_text(const Survey& survey, const EvenTerms& terms, const SiteValues& values);

}  // namespace hearwood
