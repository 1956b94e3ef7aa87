// What is told of a survey beside the contrast itself: adjusted for declared columns, along the
// declared gradient, and whole patterns over hours and bands.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "aggregate/judged_segments.h"
#include "aggregate/site_values.h"
#include "contrast/nuisance.h"
#include "contrast/patterns.h"
#include "store/store.h"
#include "survey/survey.h"

namespace hearwood {

struct BesideContrast {
    std::vector<SiteNumbers> adjusted_for;  ///< columns that could be used
    std::vector<AdjustedRow> adjusted;      ///< empty: none declared, or none of use
    std::optional<SiteNumbers> along;
    std::vector<GradientRow> gradient;
    Patterns cells;  ///< what stands out by site, hour and band
    PatternResults patterns;
};

/// `values` are those of the contrast. A declared column that cannot be used is told on stderr,
/// with what is done without it.
BesideContrast compute_beside(const Survey& survey, const Store& store,
                              const JudgedSegments& segments, const SiteValues& averages,
                              const std::vector<SiteValue>& values, const ContrastPlan& plan);
/// Sentences of the shown outcome, those that there are; patterns have their own words.
std::vector<std::string> beside_in_words(const BesideContrast& beside, const ContrastRow& shown,
                                         const ContrastPlan& plan);

}  // namespace hearwood
