// How far sites are from each other, by coordinates and along trails.
#pragma once

#include <cstddef>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "base/error.h"
#include "base/table.h"
#include "survey/survey.h"

namespace hearwood {

struct SitePair {
    std::size_t a = 0, b = 0;            ///< into Survey::sites, a < b
    double metres = 0;                   ///< great circle
    std::optional<double> trail_metres;  ///< between their trail_m, when both are on one trail
};

/// Every pair in the order of the sheet.
void for_each_pair(const Survey& survey, const std::function<void(const SitePair&)>& use);

/// A warning for every pair nearer than the distance by coordinates or along a trail (common
/// practice: two recorders within hearing of each other are one replicate), and for every pair
/// whose trail is shorter than the straight line, which cannot be.
std::vector<Problem> spacing_warnings(const Survey& survey, double listening_distance_m);

/// Of distances.csv. The survey must outlive the table.
TableOf<SitePair> distances_table(const Survey& survey, double listening_distance_m);
void write_distances(const Survey& survey, double listening_distance_m,
                     const std::filesystem::path& path);

}  // namespace hearwood
