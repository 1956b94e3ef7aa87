// The inner product, in four sums that run side by side: the hot loop of tests that permute
// numbers.
#pragma once

#include <cstddef>
#include <span>

namespace hearwood {

/// REQUIRES: equal lengths. The order of the sums is fixed, so equal input gives equal bits.
inline double dot(std::span<const double> x, std::span<const double> y) {
    double a = 0, b = 0, c = 0, d = 0;
    std::size_t i = 0;
    for (; i + 4 <= x.size(); i += 4) {
        a += x[i] * y[i];
        b += x[i + 1] * y[i + 1];
        c += x[i + 2] * y[i + 2];
        d += x[i + 3] * y[i + 3];
    }
    for (; i < x.size(); ++i) a += x[i] * y[i];
    return (a + b) + (c + d);
}

}  // namespace hearwood
