// The invented survey of the demo: heath forest on white sand against alluvial forest along three
// invented rivers of Borneo, two sites of each at every river, eight nights. Everything here is
// made up; what it says about heath and alluvium is the truth of this demo and of no forest.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "survey/survey.h"

namespace hearwood {

/// Kinds of insects that call without end: through the night, around sunset, through the day.
inline constexpr int kNightChoir = 0, kDuskChoir = 1, kDayChoir = 2;

struct DemoSite {
    std::string name, river, stand;  ///< stand: "poor" or "rich"
    double latitude = 0, longitude = 0;
    int elevation_m = 0, trail_m = 0;
    double root_mat_cm = 0, organic_depth_cm = 0, canopy_height_m = 0;
    std::string mineral_texture;
    double liveliness = 1;         ///< multiplies every call rate: sites of a class differ
    double noise_dbfs = -77;       ///< of leaves, far water and the recorder itself
    double stream_dbfs = -200;     ///< of a stream beside the site; -200: none
    double loss_db_per_100m = 0;   ///< what the stand takes off at 4 kHz, beyond spreading
    std::vector<int> choirs;       ///< kinds of insects that call without end
    int clock_late_s = 0;          ///< the recorder's clock shows this much less than the true time
    bool microphone_dies = false;  ///< nothing but the converter's last bit on the last two dates
    bool misses_dawns = false;     ///< no recording around dawn on every other date
};

/// What one file holds: the truth beside the recordings.
struct DemoFile {
    std::size_t site = 0;
    std::string name;      ///< in its deployment's folder
    LocalTime true_start;  ///< local time at the site
    std::uint64_t seed = 0;
    double bird_phrases_per_minute = 0;  ///< within earshot, heard or not
    double frog_calls_per_minute = 0;
    std::vector<int> choirs;  ///< kinds of insects that are calling
    bool shower = false, gusts = false, boat = false, dead = false, truncated = false;
    int trial_m = 0;  ///< the sound of the trial is played so far from the recorder; 0: it is not
};

struct DemoScenario {
    std::vector<DemoSite> sites;
    std::vector<DemoFile> files;
};

inline constexpr int kDemoSampleRate = 24000;
inline constexpr int kDemoFileSeconds = 6;
inline constexpr int kDemoTrialSeconds = 34;  ///< of a file that holds the trial's sound
inline constexpr int kDemoDates = 8;
inline constexpr const char* kDemoZone = "Asia/Kuching";

/// What the stand takes off sound beyond spreading.
double stand_loss_db(const DemoSite& site, double distance_m, double hz);

/// The whole plan, drawn from the seed.
DemoScenario make_scenario(std::uint64_t seed);

}  // namespace hearwood
