// The survey that a command works on.
#pragma once

#include <string>

#include "survey/survey.h"

namespace hearwood {

/// Loads it without what wrong rows of its sheets stand for (load_usable_survey), and says on
/// stderr what is left out, a line each; stages of a run leave that to `check` and the answer.
Survey open_survey(const std::string& folder);

/// Whether any survey of this process was opened without something: main() then ends with
/// ExitCode::some_unusable where all else went well.
bool something_was_left_out();

}  // namespace hearwood
