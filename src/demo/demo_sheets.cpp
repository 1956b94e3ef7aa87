#include "demo/demo_sheets.h"

#include <fmt/format.h>

#include "base/text.h"
#include "demo/calls.h"
#include "survey/zone.h"

namespace hearwood {

std::string demo_deployment(const DemoSite& site) {
    return site.name + "-april";
}

std::string demo_survey_toml(std::uint64_t seed) {
    return fmt::format(
        R"toml(# An invented survey, made by `hearwood demo` with seed {}. Nothing in it was ever recorded.

[survey]
title = "Heath and alluvial forest along three rivers (invented)"
time_zone = "{}"

[stands]
factor = "nutrient_status"      # a column of sites.csv
compare = ["rich", "poor"]      # differences are rich minus poor
block = "river"                 # sites are compared within a river
part_of_stand = ["root_mat_cm", "organic_depth_cm", "canopy_height_m"]  # what makes a stand

[measure]
segment_s = {}                  # the demo's files are short; real surveys keep the default of 60

[screen]
engine_score = 3                # six seconds tell an engine less surely than a minute: ask for more

[bands]
frogs = [800, 2800]
insects = [4000, 10000]

[contrast]
# This survey was built to show a difference here: its rates and this outcome were chosen together,
# with its results in sight. In a survey of yours declare the outcome before the data are seen.
# Everything else is secondary.
primary = {{ index = "solo_events", window = "dawn" }}
seed = 2026
)toml",
        seed, kDemoZone, kDemoFileSeconds);
}

std::string demo_sites_csv(const DemoScenario& scenario) {
    std::string csv =
        "site,latitude,longitude,nutrient_status,river,elevation_m,trail,trail_m,root_mat_cm,"
        "organic_depth_cm,"
        "mineral_texture,canopy_height_m,notes\n";
    for (const DemoSite& site : scenario.sites)
        csv += fmt::format("{},{:.5f},{:.5f},{},{},{},{} trail,{},{:.0f},{:.0f},{},{:.0f},\n",
                           site.name, site.latitude, site.longitude, site.stand, site.river,
                           site.elevation_m, site.river, site.trail_m, site.root_mat_cm,
                           site.organic_depth_cm, site.mineral_texture, site.canopy_height_m);
    return csv;
}

std::string demo_deployments_csv(const DemoScenario& scenario) {
    std::string csv =
        "deployment,site,folder,recorder,start,end,clock_error_start_s,clock_error_end_s,gain_db,"
        "height_m,"
        "expected_minutes_per_hour,notes\n";
    for (std::size_t i = 0; i < scenario.sites.size(); ++i) {
        const DemoSite& site = scenario.sites[i];
        const char* note = site.microphone_dies      ? "microphone found loose when taken in"
                           : site.clock_late_s > 0   ? "clock was set wrongly at camp"
                           : site.misses_dawns       ? "weak batteries: gaps in the small hours"
                           : site.stream_dbfs > -100 ? "ten metres from a stream"
                                                     : "";
        csv += fmt::format(
            "{0},{1},recordings/{0},R{2:02},2026-04-18 00:00,2026-04-26 "
            "00:00,{3},{3},18,1.5,,{4}\n",
            demo_deployment(site), site.name, i + 1, -site.clock_late_s, note);
    }
    return csv;
}

std::string demo_trials_csv(const DemoScenario& scenario) {
    std::string csv = "site,date,time,distance_m,notes\n";
    for (const DemoFile& file : scenario.files) {
        if (file.trial_m == 0) continue;
        const std::string start = format_local(file.true_start);
        csv += fmt::format("{},{},{},{},\n", scenario.sites[file.site].name, start.substr(0, 10),
                           start.substr(11, 5), file.trial_m);
    }
    return csv;
}

std::string demo_truth_csv(const DemoScenario& scenario) {
    std::string csv =
        "deployment,file,true_start_local,bird_calls,frog_calls,audible_calls,"
        "audible_everywhere,bird_phrases_per_minute,frog_calls_per_minute,choirs,shower,gusts,boat,"
        "dead_microphone,"
        "truncated,trial_m\n";
    for (const DemoFile& file : scenario.files) {
        const DemoCalls calls = count_calls(scenario, file);
        csv += fmt::format("{},{},{},{},{},{},{},{:.3f},{:.3f},{},{:d},{:d},{:d},{:d},{:d},{}\n",
                           demo_deployment(scenario.sites[file.site]), file.name,
                           format_local(file.true_start), calls.birds, calls.frogs, calls.audible,
                           calls.audible_everywhere, file.bird_phrases_per_minute,
                           file.frog_calls_per_minute, file.choirs.size(), file.shower, file.gusts,
                           file.boat, file.dead, file.truncated,
                           file.trial_m ? std::to_string(file.trial_m) : "");
    }
    return csv;
}

}  // namespace hearwood
