// What a terminal that takes colours shows besides words: bold headings, and the two classes in
// their colours. Nothing of it in a pipe, in a file, or under NO_COLOR.
#pragma once

#include <string>
#include <string_view>

#include "survey/survey.h"

namespace hearwood {

std::string bold(std::string_view text);

/// The classes' names, as whole words and quoted in no other, in the nearest of the terminal's own
/// colours to those of the page, so that they are readable on any ground. `text` is wrapped
/// already.
std::string with_class_colours(std::string text, const StandSettings& stands);

}  // namespace hearwood
