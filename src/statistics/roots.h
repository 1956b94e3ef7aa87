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

/// The one place above 0 at which a polynomial that is not below 0 at 0 falls below it; inf where
/// it never does. Not single where the signs of its coefficients leave room for more than one
/// (Descartes' rule).
struct SideRoot {
    bool single;
    double at;
};
SideRoot single_positive_root(const std::array<double, 5>& c);

}  // namespace hearwood
