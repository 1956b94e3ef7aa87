// [screen] of survey.toml: which reasons exclude a segment, and the thresholds of each rule
// (docs/screens.md). The table at the end is the one list of keys: the reader of the sheet, its
// error messages and the docs follow it.
#pragma once

#include <array>

namespace hearwood {

struct ScreenSettings {
    // Whether a reason that fires excludes the segment; a reason that does not exclude is a flag.
    bool clipped_excludes = true;
    bool dead_excludes = true;
    bool short_excludes = true;
    bool outside_excludes = true;
    bool wind_excludes = false;
    bool rain_excludes = true;
    bool engine_excludes = false;

    double clipped_fraction = 0.001;
    double dead_dbfs = -85;
    double dead_silent_share = 0.5;
    double dead_noise_dbfs = -70;
    double dead_spread_db = 1;
    double dead_flatness_db = -0.1;
    double wind_rumble_db = 16;
    double wind_gust_db = 1.2;
    double rain_score = 0;
    double rain_click_weight = 1;
    double rain_nearby_minutes = 15;
    double rain_nearby_weight = 0.2;
    double engine_score = 0;
    double often_share = 0.8;

    bool operator==(const ScreenSettings&) const = default;
};

/// A key of [screen] that is true or false.
struct ScreenSwitch {
    const char* key;
    bool ScreenSettings::*member;
    const char* meaning;
};

/// A key of [screen] that is a number, `least` and `most` included.
struct ScreenThreshold {
    const char* key;
    double ScreenSettings::*member;
    double least, most;
    const char* unit;  ///< "1" for a pure number
    const char* meaning;
};

inline constexpr std::array kScreenSwitches{
    ScreenSwitch{"clipped_excludes", &ScreenSettings::clipped_excludes,
                 "leave out segments whose samples are cut off at full scale"},
    ScreenSwitch{"dead_excludes", &ScreenSettings::dead_excludes,
                 "leave out segments of a dead or disconnected microphone"},
    ScreenSwitch{
        "short_excludes", &ScreenSettings::short_excludes,
        "leave out the shorter last segment of a file (it is never averaged with whole ones)"},
    ScreenSwitch{"outside_excludes", &ScreenSettings::outside_excludes,
                 "leave out segments before the deployment's start or after its end"},
    ScreenSwitch{"wind_excludes", &ScreenSettings::wind_excludes,
                 "leave out segments with wind on the microphone"},
    ScreenSwitch{"rain_excludes", &ScreenSettings::rain_excludes, "leave out segments with rain"},
    ScreenSwitch{"engine_excludes", &ScreenSettings::engine_excludes,
                 "leave out segments with an engine (motor boat, chainsaw, helicopter, generator)"},
};

inline constexpr std::array kScreenThresholds{
    ScreenThreshold{"clipped_fraction", &ScreenSettings::clipped_fraction, 0, 1, "1",
                    "clipped: at least this share of the samples stands in runs at full scale"},
    ScreenThreshold{"dead_dbfs", &ScreenSettings::dead_dbfs, -200, 0, "dBFS",
                    "dead: the level above 200 Hz is below this"},
    ScreenThreshold{"dead_silent_share", &ScreenSettings::dead_silent_share, 0, 1, "1",
                    "dead: at least this share of the frames holds nothing but zeros"},
    ScreenThreshold{"dead_noise_dbfs", &ScreenSettings::dead_noise_dbfs, -200, 0, "dBFS",
                    "disconnected (told as dead): below this level, and as even in time and pitch "
                    "as the next two say; "
                    "-200 turns this rule off"},
    ScreenThreshold{"dead_spread_db", &ScreenSettings::dead_spread_db, 0, 100, "dB",
                    "disconnected: l10_dbfs is at most this far above l90_dbfs"},
    ScreenThreshold{"dead_flatness_db", &ScreenSettings::dead_flatness_db, -100, 0, "dB",
                    "disconnected: flatness_db is at least this"},
    ScreenThreshold{"wind_rumble_db", &ScreenSettings::wind_rumble_db, -100, 100, "dB",
                    "wind: rumble is at least this, and gust its own threshold"},
    ScreenThreshold{"wind_gust_db", &ScreenSettings::wind_gust_db, 0, 100, "dB",
                    "wind: gust is at least this, and rumble its own threshold"},
    ScreenThreshold{"rain_score", &ScreenSettings::rain_score, -50, 50, "1",
                    "rain: the rain score is above this; higher leaves more segments in"},
    ScreenThreshold{
        "rain_click_weight", &ScreenSettings::rain_click_weight, 0, 5, "1",
        "rain: how much hard, rare clicks (dripping, twigs, fire) speak against rain; 0 "
        "leaves dripping out with the rain, above 1 keeps more of it in"},
    ScreenThreshold{"rain_nearby_minutes", &ScreenSettings::rain_nearby_minutes, 0, 180, "min",
                    "rain: segments at most this far away are heard as neighbours"},
    ScreenThreshold{"rain_nearby_weight", &ScreenSettings::rain_nearby_weight, 0, 1, "1",
                    "rain: how far the neighbours' scores pull a segment's own; 0 leaves them out"},
    ScreenThreshold{"engine_score", &ScreenSettings::engine_score, -50, 50, "1",
                    "engine: the engine score is above this"},
    ScreenThreshold{"often_share", &ScreenSettings::often_share, 0, 1, "1",
                    "a reason that fires on more than this share of a site's segments becomes a "
                    "question, not an "
                    "exclusion (wind, rain, engine)"},
};

}  // namespace hearwood
