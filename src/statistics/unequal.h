// What to do where the two classes do not vary alike: a second p that bears unequal spread, and how
// unequal it is.
#pragma once

#include <span>
#include <vector>

#include "statistics/pair_test.h"

namespace hearwood {

/// The second p. Without blocks (one block) Welch's t test, two-sided, degrees of freedom after
/// Satterthwaite (Welch 1947). With three blocks or more the permutations of `test` of
/// T / sqrt(sum of w_b^2 (d_b - T)^2), d_b the difference within block b and w_b its weight in T:
/// only how the blocks differ counts, so that the classes may spread as they like. NaN with two
/// blocks, with fewer than 2 units of a class, and where nothing varies. Values in the layout's
/// order.
double unequal_p(const PairTest& test, const std::vector<double>& values);

/// Larger over smaller standard deviation of the two classes, squares about the means of class and
/// block, n - blocks degrees of freedom. NaN where a class has none left or neither varies, inf
/// where one does not.
double spread_ratio(std::span<const double> values, const Layout& layout);

/// The value that Student's t with so many degrees of freedom stays below with this probability.
/// Here, because the library's distributions take the compiler seconds wherever they are used.
double student_quantile(double probability, double freedom);

}  // namespace hearwood
