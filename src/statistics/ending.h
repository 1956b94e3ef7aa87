// How a verdict ends where the smallest difference that matters was declared: a difference that is
// certain may be too small to matter, and one that is not may be ruled out as large.
#pragma once

#include <optional>

namespace hearwood {

struct Interval {
    double low = 0, high = 0;  ///< -inf and inf when unbounded; NaN: none
};

enum class Ending {
    more,      ///< beyond `matters`
    smaller,   ///< within it, whether 0 is excluded or not
    some,      ///< a difference, which may matter or not
    undecided  ///< neither
};

/// In this order of precedence. `wide` is the interval at the level L, `narrow` the one at 2 L - 1:
/// that it lies within [-matters, matters] is the verdict of two one-sided tests at 1 - L
/// (Schuirmann 1987, Journal of Pharmacokinetics and Biopharmaceutics 15, 657-680). `shown`: the
/// test rejects no difference; where it does not, nothing is more than anything. Nothing where
/// there is no interval. REQUIRES matters > 0.
std::optional<Ending> ending_of(Interval wide, Interval narrow, bool shown, double matters);

/// "more", "smaller", "some", "undecided".
const char* name_of(Ending ending);

}  // namespace hearwood
