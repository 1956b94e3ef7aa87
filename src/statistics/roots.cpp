#include "statistics/roots.h"

#include <algorithm>
#include <cmath>

namespace hearwood {

namespace {

/// A polynomial of so many coefficients, the constant first.
struct Polynomial {
    std::array<double, 5> c{};
    int size = 0;

    double at(double x) const {
        double sum = 0;
        for (int i = size; i-- > 0;) sum = sum * x + c[i];
        return sum;
    }
    Polynomial slope() const {
        Polynomial result;
        result.size = size - 1;
        for (int i = 1; i < size; ++i) result.c[i - 1] = i * c[i];
        return result;
    }
    /// Beyond it there is no root (Cauchy's bound).
    double bound() const {
        double largest = 0;
        for (int i = 0; i + 1 < size; ++i) largest = std::max(largest, std::abs(c[i]));
        return 1 + largest / std::abs(c[size - 1]);
    }
};

/// Newton's steps kept inside a bracket that is halved where they leave it. REQUIRES: the signs at
/// both ends differ.
double between(const Polynomial& polynomial, const Polynomial& slope, double low, double high) {
    const bool rising = polynomial.at(low) < 0;
    double x = low + (high - low) / 2;
    for (int step = 0; step < 200; ++step) {
        const double value = polynomial.at(x);
        if (value == 0) return x;
        ((value < 0) == rising ? low : high) = x;
        const double newton = x - value / slope.at(x);
        const double next = newton > low && newton < high ? newton : low + (high - low) / 2;
        if (std::abs(next - x) <= 1e-15 * std::abs(x)) return next;
        x = next;
    }
    return x;
}

SignChanges changes(const Polynomial& given) {
    Polynomial polynomial = given;
    while (polynomial.size > 0 && polynomial.c[polynomial.size - 1] == 0) --polynomial.size;
    SignChanges result;
    if (polynomial.size < 2) return result;
    if (polynomial.size == 2) {
        result.at[result.count++] = -polynomial.c[0] / polynomial.c[1];
        return result;
    }
    // Monotone between the ends and the turning points.
    const Polynomial slope = polynomial.slope();
    const SignChanges turns = changes(slope);
    const double far = polynomial.bound();
    double low = -far, at_low = polynomial.at(low);
    for (int i = 0; i <= turns.count; ++i) {
        const double high = i < turns.count ? turns.at[i] : far, at_high = polynomial.at(high);
        if ((at_low < 0) != (at_high < 0))
            result.at[result.count++] = between(polynomial, slope, low, high);
        low = high;
        at_low = at_high;
    }
    return result;
}

}  // namespace

SignChanges sign_changes(const std::array<double, 5>& c) {
    return changes({c, 5});
}

int most_roots_above(const std::array<double, 5>& c, double x) {
    // The value and the slopes over 1, 2, 6 and 24: the coefficients about x.
    const std::array<double, 5> about{
        value_at(c, x), c[1] + x * (2 * c[2] + x * (3 * c[3] + x * 4 * c[4])),
        c[2] + x * (3 * c[3] + x * 6 * c[4]), c[3] + x * 4 * c[4], c[4]};
    int changes = 0, last = 0;
    for (const double value : about) {
        const int sign = (value > 0) - (value < 0);
        changes += sign != 0 && last != 0 && sign != last;
        if (sign != 0) last = sign;
    }
    return changes;
}

}  // namespace hearwood
