// Real roots of polynomials up to the fourth degree.
#pragma once

#include <array>

namespace hearwood {

struct SignChanges {
    std::array<double, 4> at{};  ///< ascending
    int count = 0;
};

/// The places at which c[0] + c[1] x + ... + c[4] x^4 changes its sign. Roots that only touch 0
/// are no changes. Found between the turning points, each to rounding.
SignChanges sign_changes(const std::array<double, 5>& c);

/// How many places above x there are at most at which c[0] + c[1] x + ... + c[4] x^4 is 0: the
/// changes of sign among its value and slopes at x (Budan's theorem). One means one.
int most_roots_above(const std::array<double, 5>& c, double x);

/// The polynomial at x.
inline double value_at(const std::array<double, 5>& c, double x) {
    return c[0] + x * (c[1] + x * (c[2] + x * (c[3] + x * c[4])));
}

}  // namespace hearwood
