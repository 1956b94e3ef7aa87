// Everything survey.toml can say, as plain data with its defaults. The stages further down take the
// struct they need and know nothing of the file; how a key is written, bounded and explained is its
// row in setting_keys.cpp. Frequencies in hertz, times in seconds unless the name says more.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace hearwood {

/// [low_hz, high_hz): a bin k is inside when low_hz <= k * fs / N < high_hz.
struct Band {
    std::string name;
    double low_hz = 0;
    double high_hz = 0;
    bool operator==(const Band&) const = default;
};

/// [measure] and [bands]: what the numbers of a segment depend on (docs/measures.md, section 1).
struct MeasureSettings {
    double segment_s = 60;
    int frame = 512;
    int hop = 512;
    double range_low_hz = 200;
    std::optional<double> range_high_hz;  ///< nothing: half the sample rate, that bin included
    double step_s = 5;
    Band anthrophony{"anthrophony", 1000, 2000};
    Band biophony{"biophony", 2000, 8000};
    std::vector<Band> bands;  ///< named by the survey, in the file's order
    bool operator==(const MeasureSettings&) const = default;
};

/// An end of a window: a clock time, or minutes from an event of the sun.
struct WindowEdge {
    enum class Anchor { clock, sunrise, sunset };
    Anchor anchor = Anchor::clock;
    int minutes = 0;  ///< from local midnight for clock, else from the event
    bool operator==(const WindowEdge&) const = default;
};

/// A named part of the day, [from, to). Where windows overlap the first in the list has the
/// segment.
struct Window {
    std::string name;
    WindowEdge from, to;
    bool operator==(const Window&) const = default;
};

/// The quantities that a taught rule weighs, as columns of segments.csv.
inline constexpr std::array kTaughtQuantities{
    "patter", "memory", "tail",  "crackle", "tilt",    "surge", "drops",  "throb",
    "hum",    "whine",  "lines", "swing",   "flicker", "slope", "rumble", "gust"};

/// [taught_rain], [taught_engine], [taught_wind]: a rule that listeners taught (docs/screens.md).
/// It fires above 0, in the place of the one that comes with the program.
struct TaughtRule {
    std::string date = {};  ///< when it was taught
    std::optional<double> constant;
    std::array<std::optional<double>, kTaughtQuantities.size()> weights{};  ///< nothing: 0
    bool given() const { return constant.has_value(); }
    bool operator==(const TaughtRule&) const = default;
};

/// [screen]: which reasons exclude a segment, and the thresholds of each rule (docs/screens.md).
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

    TaughtRule taught_rain = {}, taught_engine = {}, taught_wind = {};

    bool operator==(const ScreenSettings&) const = default;
};

/// [stands]
struct StandSettings {
    std::string factor;            ///< column of sites.csv
    std::string class_a, class_b;  ///< compare = [A, B]: the difference is A minus B
    std::string block;             ///< column of sites.csv; empty: no blocks
    double listening_distance_m =
        250;  ///< nearer than this two recorders may hear the same animals (common practice)
    /// Columns of the sheets that make the stand: the audit shows them as its description.
    std::vector<std::string> part_of_stand;
    std::string gradient = {};  ///< numeric column of sites.csv; empty: none
};

/// [activity]
struct ActivitySettings {
    /// A band that events fill in more than this share of the seconds is a choir's.
    double choir_share = 0.25;
    bool even = true;  ///< measure on even terms as well
    /// A site whose background lies so far above the others' in more than a third of the bands is
    /// not compared on even terms.
    double too_loud_db = 12;
    bool operator==(const ActivitySettings&) const = default;
};

/// [contrast]
struct ContrastSettings {
    std::string primary_index, primary_window;  ///< both empty: none declared
    std::uint64_t seed = 1;
    double level = 0.95;
    std::optional<double> matters;  ///< smallest difference that matters, in the primary's unit
    std::vector<std::string> adjust = {};  ///< numeric columns of sites.csv
    double cluster_threshold = 2;          ///< abs t above which cells of day and pitch cluster
};

struct Settings {
    std::string title;
    std::string language = "en";  ///< of the sheets that are printed for people in the field
    std::string time_zone;        ///< IANA name
    StandSettings stands;
    MeasureSettings measure;
    std::vector<Window>
        windows;  ///< built-in dawn, dusk, day, night unless the survey says otherwise
    ScreenSettings screen;
    ActivitySettings activity;
    ContrastSettings contrast;
    std::string start_time_pattern;  ///< [names].start_time; empty: the built-in patterns
};

}  // namespace hearwood
