// The last page of the deployment sheets: a trial of how far sound carries, with its cautions and
// blanks for the rows of trials.csv.
#pragma once

#include "base/html_template.h"
#include "survey/survey.h"
#include "words/words.h"

namespace hearwood {

/// A section of the sheets' document.
Html trial_page(const Survey& survey, const Words& words);

}  // namespace hearwood
