#include "contrast/tables.h"

#include "contrast/audit.h"
#include "contrast/classes.h"
#include "contrast/contrast.h"
#include "contrast/covariates.h"
#include "contrast/nuisance.h"
#include "contrast/onset.h"
#include "contrast/patterns.h"
#include "contrast/profile.h"
#include "contrast/robustness.h"
#include "contrast/seasons.h"
#include "contrast/variance.h"

namespace hearwood {

std::vector<TableDescription> contrast_tables() {
    std::vector<Factor> factors;
    for (const FactorMeaning& factor : kFactorMeanings) factors.push_back({factor.name, {}});
    constexpr double kAnyLevel = 0.95;
    return {contrasts_table().description(),
            contrasts_table("pairs.csv", "other pairs of classes",
                            "As contrasts.csv, for every pair of classes but the declared one.")
                .description(),
            classes_table().description(),
            profile_table().description(),
            dawn_profile_table().description(),
            onset_table().description(),
            contrasts_table("onset_contrasts.csv", "contrasts of the onset",
                            "As contrasts.csv, for the onset of the dawn chorus (minutes from "
                            "sunrise).")
                .description(),
            covariates_table().description(),
            adjusted_table().description(),
            gradient_table().description(),
            composition_table().description(),
            ordination_table().description(),
            day_pitch_table().description(),
            audit_table().description(),
            seasons_table().description(),
            variance_table(kAnyLevel).description(),
            effort_table().description(),
            robustness_table().description(),
            robustness_grid_table(factors).description()};
}

}  // namespace hearwood
