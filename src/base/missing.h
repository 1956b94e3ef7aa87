// What stands for a number that is not there: NaN in memory, NULL in the database, an empty field
// in CSV, null in JSON; and for a bound that there is none of.
#pragma once

#include <cmath>
#include <limits>

namespace hearwood {

inline constexpr double kMissing = std::numeric_limits<double>::quiet_NaN();
inline constexpr double kInfinity = std::numeric_limits<double>::infinity();

inline bool is_missing(double value) {
    return std::isnan(value);
}

}  // namespace hearwood
