// The two weighted sums behind the rain and engine rules: each a handful of terms that a person can
// read. The weights were fitted on real sounds (docs/screens.md says which, and how well they did
// on others).
#pragma once

#include "screen/quantities.h"

namespace hearwood {

/// What hard, rare clicks (tail and crackle) take off the rain score: 0 or less, NaN when missing.
double click_points(const Quantities& q);

/// NaN when any of their quantities is missing.
double rain_score_of(const Quantities& q);
double engine_score_of(const Quantities& q);

}  // namespace hearwood
