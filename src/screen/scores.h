// The two weighted sums behind the rain and engine rules: each a handful of terms that a person can
// read. The weights were fitted on real sounds (docs/screens.md says which, and how well they did
// on others).
#pragma once

#include <string>
#include <vector>

#include "screen/quantities.h"

namespace hearwood {

/// What one quantity adds to a score, or takes off.
struct ScoreTerm {
    const char* quantity;  ///< column name; "start" for the constant
    double value;          ///< of the quantity
    double points;
};

/// In a fixed order, the constant first. Missing quantities give missing points.
std::vector<ScoreTerm> rain_terms(const Quantities& q);
std::vector<ScoreTerm> engine_terms(const Quantities& q);

/// What hard, rare clicks (tail and crackle) take off the rain score: 0 or less, NaN when missing.
double click_points(const Quantities& q);

/// The sum of the points; NaN when any is missing.
double total(const std::vector<ScoreTerm>& terms);

double rain_score_of(const Quantities& q);
double engine_score_of(const Quantities& q);

/// "rain score 1.31 = -0.40 (start) +2.10 (drops 1.3) -0.39 (tail 0.18) ...": terms without effect
/// are left out.
std::string explain(const std::string& name, const std::vector<ScoreTerm>& terms);

}  // namespace hearwood
