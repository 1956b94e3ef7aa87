// The answer on the terminal: tables of 80 columns and wrapped sentences.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "contrast/classes.h"
#include "contrast/contrast.h"
#include "contrast/kept_results.h"
#include "contrast/listening.h"
#include "contrast/survey_contrast.h"
#include "survey/survey.h"

namespace hearwood {

/// The primary outcome, or the only one, and what its effect sizes mean. Where indices were held
/// against the ear each has a sign.
std::string primary_text(std::span<const ContrastRow> rows,
                         const std::vector<ListeningResult>& heard = {});
/// At most ten of the others, by size, or all.
std::string secondary_text(std::span<const ContrastRow> rows, bool all,
                           const std::vector<ListeningResult>& heard = {});
/// The other pairs and all classes together.
std::string more_classes_text(std::span<const ContrastRow> pairs,
                              std::span<const ClassesRow> together);

/// All that a survey's contrast says but the last line, which is overall_verdict(). `in_run`: the
/// check before it has told what the cards showed and what was decided.
std::string answer_text(const Survey& survey, const SurveyContrast& contrast,
                        const KeptResults& kept, bool all_rows, bool in_run);

}  // namespace hearwood
