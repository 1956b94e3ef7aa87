#include "survey/geography.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace hearwood {

double distance_m(double latitude_1, double longitude_1, double latitude_2, double longitude_2) {
    constexpr double kRadius = 6'371'008.8;  // mean radius of the Earth, IUGG
    constexpr double kRadians = std::numbers::pi / 180;
    const double half_lat = std::sin((latitude_2 - latitude_1) * kRadians / 2);
    const double half_lon = std::sin((longitude_2 - longitude_1) * kRadians / 2);
    const double chord = half_lat * half_lat + std::cos(latitude_1 * kRadians) *
                                                   std::cos(latitude_2 * kRadians) * half_lon *
                                                   half_lon;
    return 2 * kRadius * std::asin(std::min(1.0, std::sqrt(chord)));
}

}  // namespace hearwood
