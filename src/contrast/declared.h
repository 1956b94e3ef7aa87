// What a survey declares about its contrast, as the tests take it.
#pragma once

#include <vector>

#include "contrast/contrast.h"
#include "contrast/listening.h"
#include "survey/survey.h"

namespace hearwood {

/// Classes, primary outcome, seed and level of survey.toml, and the remark of the listening check
/// (nothing heard: empty).
ContrastPlan contrast_plan(const Survey& survey, const std::vector<ListeningResult>& heard = {});

}  // namespace hearwood
