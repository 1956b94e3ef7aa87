// Composition: do sites of two classes differ in the whole pattern of their profiles, and do they
// scatter alike? With principal coordinates to look at.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "base/missing.h"
#include "statistics/pair_test.h"

namespace hearwood {

struct Composition {
    double f = kMissing;  ///< pseudo-F of class given block; inf where nothing is left over
    double p = kMissing, p_min = kMissing;
    double dispersion_f = kMissing, dispersion_p = kMissing;
    double share_1 = kMissing, share_2 = kMissing;  ///< of the first two coordinates
    std::vector<std::array<double, 2>> axes;        ///< a row a unit
};

/// A column of the matrix is one cell, a value a unit. Columns are scaled by their deviation within
/// blocks, class ignored (n - blocks degrees of freedom); those that do not vary within blocks tell
/// nothing and are left out. Pseudo-F from the Gower-centred matrix of squared Euclidean distances,
/// labels permuted within blocks (Anderson 2001). Dispersion (after Anderson 2006): F of class
/// given block of the lengths of the units' residual vectors from class and block. Those vectors
/// are permuted within blocks and their residuals from class and block taken again, since a class
/// of few sites has short ones by nature. Principal coordinates of the same matrix (Gower 1966),
/// each turned so that its largest entry in absolute value is positive. REQUIRES: nothing missing,
/// at least 2 units of each class in `test`'s layout. NaN where nothing varies or no degree of
/// freedom is left.
Composition compose(const PairTest& test, std::span<const std::vector<double>> columns);

}  // namespace hearwood
