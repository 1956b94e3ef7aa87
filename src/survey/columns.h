// The columns of sites.csv and deployments.csv that the program knows.
#pragma once

#include <span>

namespace hearwood {

/// A column that the program knows.
struct KnownColumn {
    const char* name;
    const char* unit;    ///< "" for text; "1" for a pure number
    double least, most;  ///< bounds of a number, ends included
    const char* meaning;
};
/// Of sites.csv and deployments.csv, the required ones first.
std::span<const KnownColumn> known_site_columns();
std::span<const KnownColumn> known_deployment_columns();

}  // namespace hearwood
