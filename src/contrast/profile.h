// The day's profile: one contrast a step (hour of the day, or 5 minutes from sunrise), adjusted by
// the maximum of abs t over all steps under the same permutation of sites (Westfall & Young 1993,
// single step).
#pragma once

#include <string>
#include <vector>

#include "contrast/contrast.h"

namespace hearwood {

/// Site values along steps: value[s][k] of site s at step k, NaN where the site lacks the step.
struct ProfileInput {
    std::vector<std::string> sites, stands, blocks;  ///< parallel; blocks all empty: none
    std::vector<double> steps;                       ///< e.g. 0..23, or minutes from sunrise
    std::vector<std::vector<double>> values;
};

struct ProfileStep {
    double step = 0;
    int n_a = 0, n_b = 0;
    double mean_a = kMissing, mean_b = kMissing;
    double difference =
        kMissing;  ///< T; NaN when the step is untested (fewer than 2 sites in a class)
    double t = kMissing;
    double p = kMissing;  ///< of this step alone
    double p_adjusted = kMissing;
};

struct Profile {
    std::vector<ProfileStep> steps;
    std::int64_t permutations = 0;
    bool exact = true;
};

Profile contrast_profile(const ProfileInput& input, const ContrastPlan& plan);

/// A profile with its names, as profile.csv lists them.
struct NamedProfile {
    std::string index;
    Profile profile;
};

/// A row of profile.csv and dawn_profile.csv.
struct ProfileRow {
    std::string index;
    ProfileStep step;
};
std::vector<ProfileRow> profile_rows(std::span<const NamedProfile> profiles);
TableOf<ProfileRow> profile_table();
TableOf<ProfileRow> dawn_profile_table();

}  // namespace hearwood
