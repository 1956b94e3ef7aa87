// The invented survey of the demo: heath forest on white sand against alluvial forest along three
// invented rivers of Borneo, two sites of each at every river, two dates. Everything here is made
// up; what it says about heath and alluvium is the truth of this demo and of no forest.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "survey/survey.h"

namespace hearwood {

struct DemoSite {
    std::string name, river, stand;  ///< stand: "poor" or "rich"
    double latitude = 0, longitude = 0;
    int elevation_m = 0, trail_m = 0;
    double root_mat_cm = 0, organic_depth_cm = 0, canopy_height_m = 0;
    std::string mineral_texture;
    double liveliness = 1;    ///< multiplies every call rate: what differs between sites of a class
    double noise_dbfs = -66;  ///< level of leaves, water and the recorder's own noise
    int clock_late_s = 0;     ///< the recorder's clock shows this much less than the true time
    bool microphone_dies = false;  ///< silent from the second date on
    bool writes_wav = false;       ///< the others write FLAC
};

/// What one file holds: the truth beside the recordings.
struct DemoFile {
    std::size_t site = 0;
    std::string name;      ///< in its deployment's folder
    LocalTime true_start;  ///< local time at the site
    std::uint64_t seed = 0;
    double bird_phrases_per_minute = 0;
    double frog_calls_per_minute = 0;
    double insect_level_dbfs = -200;  ///< -200: none
    int bird_kinds = 0, insect_kinds = 0;
    bool shower = false, gusts = false, boat = false, dead = false, truncated = false;
};

struct DemoScenario {
    std::vector<DemoSite> sites;
    std::vector<DemoFile> files;
};

inline constexpr int kDemoSampleRate = 24000;
inline constexpr int kDemoFileSeconds = 20;
inline constexpr const char* kDemoZone = "Asia/Kuching";

/// The whole plan, drawn from the seed.
DemoScenario make_scenario(std::uint64_t seed);

}  // namespace hearwood
