// The demo's sheets as text.
#pragma once

#include <string>

#include "demo/scenario.h"

namespace hearwood {

std::string demo_survey_toml(std::uint64_t seed);
std::string demo_sites_csv(const DemoScenario& scenario);
std::string demo_deployments_csv(const DemoScenario& scenario);
/// When and from where the sound of the trial was played.
std::string demo_trials_csv(const DemoScenario& scenario);
/// What every file holds: the truth that measures and screens can be held against.
std::string demo_truth_csv(const DemoScenario& scenario);

/// Name of a site's one deployment, and of its folder below recordings/.
std::string demo_deployment(const DemoSite& site);

}  // namespace hearwood
