// Where in the day and where in pitch two classes differ: t of every hour x band cell, adjusted
// over all cells, and the mass of clusters of neighbouring cells.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "base/missing.h"
#include "statistics/pair_test.h"

namespace hearwood {

struct DayPitchCell {
    int hour = 0;  ///< 0 .. 23
    double low_hz = 0, high_hz = 0;
    std::vector<double> values;  ///< a unit each, in the layout's order; nothing missing
};

struct DayPitchResult {
    double mean_a = kMissing, mean_b = kMissing;  ///< plain means
    double difference = kMissing;                 ///< T
    double t = kMissing;           ///< NaN where the cell is constant within class and block
    double p_adjusted = kMissing;  ///< step-down max-t over all cells
    int cluster = 0;               ///< 1 is the heaviest; 0: in none
    double cluster_p = kMissing;   ///< of the cell's cluster
};

/// Clusters are cells joined by their sides, an hour apart (23 and 0 are) or bands that touch, of
/// one sign of t and abs t above `threshold`; their mass is the sum of abs t. cluster_p is the
/// share of permutations whose heaviest cluster reaches the cluster's mass (Bullmore et al. 1999;
/// Maris & Oostenveld 2007), p_adjusted the step-down max-t over all cells (Nichols & Holmes 2002).
/// A cluster says "somewhere in here", never where it ends. Uses all cores; the result does not
/// depend on how many.
std::vector<DayPitchResult> day_pitch(const PairTest& test, std::span<const DayPitchCell> cells,
                                      double threshold = 2);

}  // namespace hearwood
