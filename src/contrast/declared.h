// What a survey declares about its contrast, as the tests take it.
#pragma once

#include <filesystem>

#include "contrast/contrast.h"
#include "survey/survey.h"

namespace hearwood {

/// Classes, primary outcome, seed and level of survey.toml, and the remark of the listening check
/// that `tables` holds (none: empty). Errors: InputError when listening.csv cannot be read.
ContrastPlan contrast_plan(const Survey& survey, const std::filesystem::path& tables);

}  // namespace hearwood
