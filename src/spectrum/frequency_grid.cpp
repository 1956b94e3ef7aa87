#include "spectrum/frequency_grid.h"

#include <algorithm>

namespace hearwood {
namespace {

/// The first bin of f_0 < f_1 < .. that is not below the limit, bins() when all are. The guess by
/// division is put right by the definition itself, so that a frequency on a bin falls on the right
/// side.
int first_bin_from(const FrequencyGrid& grid, double limit_hz) {
    const double guess =
        std::clamp(limit_hz / grid.bin_width(), 0.0, static_cast<double>(grid.bins()));
    int k = static_cast<int>(guess);
    while (k > 0 && grid.frequency(k - 1) >= limit_hz) --k;
    while (k < grid.bins() && grid.frequency(k) < limit_hz) ++k;
    return k;
}

}  // namespace

BinRange FrequencyGrid::bins_in(double low_hz, double high_hz) const {
    const int first = first_bin_from(*this, low_hz);
    return {first, std::max(first, first_bin_from(*this, high_hz))};
}

BinRange FrequencyGrid::bins_from(double low_hz) const {
    return {first_bin_from(*this, low_hz), bins()};
}

}  // namespace hearwood
