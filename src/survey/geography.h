// Distances on the earth.
#pragma once

namespace hearwood {

/// Great-circle distance in metres (haversine, mean radius 6,371,008.8 m).
double distance_m(double latitude_1, double longitude_1, double latitude_2, double longitude_2);

}  // namespace hearwood
