// The last page of the deployment sheets: a trial of how far sound carries, with its cautions and
// blanks for the rows of trials.csv.
#pragma once

#include <string>

#include "survey/survey.h"
#include "words/words.h"

namespace hearwood {

/// A section of the sheets' document.
std::string trial_page_html(const Survey& survey, const Words& words);

}  // namespace hearwood
