// How far judgements agree beyond chance: kappa in its forms. Formulas from memory of the papers
// named.
#pragma once

#include <span>
#include <vector>

namespace hearwood {

/// Two judgements of the same things, category by category (0 ..).
struct JudgementPair {
    int first = 0, second = 0;
};

/// Cohen (1960): (po - pe) / (1 - pe). NaN without pairs, or where both judges used one category
/// only.
double cohen_kappa(std::span<const JudgementPair> pairs, int categories);

/// Cohen (1968) with disagreement weights (i - j)^2: 1 - sum w o / sum w e. NaN as above.
double weighted_kappa(std::span<const JudgementPair> pairs, int categories);

/// Fleiss (1971). counts[i][j]: how many judges put thing i into category j; every thing judged by
/// the same number of judges, at least two. NaN without things or where only one category was used.
double fleiss_kappa(const std::vector<std::vector<int>>& counts);

}  // namespace hearwood
