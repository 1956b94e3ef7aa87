// [screen] of survey.toml: which reasons exclude a segment, and the thresholds of each rule.
#pragma once

namespace hearwood {

struct ScreenSettings {
    // Whether a reason that fires excludes the segment; a reason that does not exclude is a flag.
    bool clipped_excludes = true;
    bool dead_excludes = true;
    bool short_excludes = true;
    bool outside_excludes = true;
    bool rain_excludes = true;
    bool wind_excludes = false;
    bool engine_excludes = false;
};

}  // namespace hearwood
