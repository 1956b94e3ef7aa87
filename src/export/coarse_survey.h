// Coordinates made coarse, so that a deposit does not lead to what should be left alone.
#pragma once

#include <optional>
#include <vector>

#include "survey/survey.h"

namespace hearwood {

/// For sites that sites.csv calls sensitive, where nothing else is said: some 11 km.
inline constexpr double kSensitiveDegrees = 0.1;

/// The step, in degrees, to which each site's coordinates are rounded; 0: as they are. `all`: of
/// every site. Errors: InputError for a cell `sensitive` that is neither yes nor no.
std::vector<double> coarse_steps(const Survey& survey, std::optional<double> all);

/// The survey with rounded coordinates, in Site and in its cells. `steps` by site.
Survey coarse_survey(const Survey& survey, const std::vector<double>& steps);

/// Half the diagonal of a cell of that many degrees at this latitude, in metres, rounded up: how
/// far the place may be from the rounded one.
double uncertainty_m(double latitude, double step);

}  // namespace hearwood
