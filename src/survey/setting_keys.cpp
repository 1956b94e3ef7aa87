#include "survey/setting_keys.h"

#include <fmt/format.h>

#include "base/text.h"
#include "survey/taught_keys.h"
#include "survey/zone.h"
#include "words/words.h"

namespace hearwood {

namespace {

/// at<&Settings::title>, at<&Settings::measure, &MeasureSettings::frame>: the member at the end of
/// a path, as SettingMember takes it.
template <auto... path>
constexpr auto at = [](Settings& settings) -> auto& {
    return (settings.*....*path);
};
template <auto member>
constexpr auto measure = at<&Settings::measure, member>;
template <auto member>
constexpr auto screen = at<&Settings::screen, member>;

std::optional<Refusal> zone_is_known(const Settings& settings) {
    if (Zone::find(settings.time_zone)) return {};
    return Refusal{"this machine knows no such time zone", zone_fix(settings.time_zone)};
}

std::optional<Refusal> language_is_there(const Settings& settings) {
    if (Words::has(settings.language)) return {};
    return Refusal{"no sheets are written in that language",
                   "write en (English), ms (Malay), id (Indonesian), es (Spanish), pt (Portuguese) "
                   "or fr (French)"};
}

constexpr SettingKey kSurveyKeys[] = {
    {.name = "title",
     .member = at<&Settings::title>,
     .meaning = "shown on the page and the printed sheets",
     .example = "\"Heath and alluvial forest\"",
     .in_use = true},
    {.name = "time_zone",
     .member = at<&Settings::time_zone>,
     .meaning = "IANA name; dates, hours and windows follow this clock",
     .more =
         "`UTC` or an offset (`+08:00`) will do. Daylight saving is heeded; its rules are those of "
         "the machine's own zone data",
     .example = "\"Asia/Kuching\"",
     .needed = true,
     .in_use = true,
     .check = zone_is_known},
    {.name = "language",
     .member = at<&Settings::language>,
     .meaning = "of the sheets printed for the field: en, ms, id, es, pt or fr",
     .more = "English, Malay, Indonesian, Spanish, Portuguese, French; the deployment sheet, the "
             "notice for people who live and work there, and the summary. Tables and messages stay "
             "in English",
     .check = language_is_there},
};

std::optional<Refusal> classes_differ(const Settings& settings) {
    const StandSettings& stands = settings.stands;
    if (stands.class_a != stands.class_b && !stands.class_a.empty() && !stands.class_b.empty())
        return {};
    return Refusal{"two different classes are compared", "write compare = [\"rich\", \"poor\"]"};
}

std::optional<Refusal> block_is_no_factor(const Settings& settings) {
    if (settings.stands.block.empty() || settings.stands.block != settings.stands.factor) return {};
    return Refusal{"a column cannot be the factor and the block at once",
                   "name another column, or take the line out"};
}

constexpr SettingKey kStandsKeys[] = {
    {.name = "factor",
     .member = at<&Settings::stands, &StandSettings::factor>,
     .meaning = "the column of sites.csv that names each site's class",
     .example = "\"nutrient_status\"",
     .needed = true,
     .in_use = true},
    {.name = "compare",
     .member =
         [](Settings& s) {
             return TwoTexts{s.stands.class_a, s.stands.class_b};
         },
     .meaning = "two classes; differences are the first minus the second",
     .more = "a class with no site is an error, one with a single site a warning, since nothing "
             "can be tested then",
     .example = "[\"rich\", \"poor\"]",
     .needed = true,
     .in_use = true,
     .check = classes_differ},
    {.name = "block",
     .member = at<&Settings::stands, &StandSettings::block>,
     .meaning = "a column of sites.csv: classes are compared within each of its values",
     .more = "differences between rivers, say, then drop out",
     .example = "\"river\"",
     .check = block_is_no_factor},
    {.name = "listening_distance_m",
     .member = at<&Settings::stands, &StandSettings::listening_distance_m>,
     .least = 0,
     .most = 100'000,
     .unit = "m",
     .meaning = "nearer sites may hear the same animals (common practice)",
     .more = "they count as one site in the audit. The figure is for forest birds, and depends on "
             "animal, stand and weather"},
    {.name = "part_of_stand",
     .member = at<&Settings::stands, &StandSettings::part_of_stand>,
     .most = 50,
     .meaning = "columns of the sheets that make the stand",
     .more = "the audit shows them as its description instead of doubting them",
     .example = "[\"root_mat_cm\", \"organic_depth_cm\"]"},
    {.name = "gradient",
     .member = at<&Settings::stands, &StandSettings::gradient>,
     .meaning = "a numeric column of sites.csv: the slope of the site values along it",
     .more = "and the same given the class",
     .example = "\"organic_depth_cm\""},
};

std::optional<Refusal> frame_is_even(const Settings& settings) {
    if (settings.measure.frame % 2 == 0) return {};
    return Refusal{"a frame has an even number of samples", "choose a power of two such as 512"};
}

std::optional<Refusal> hop_fits_frame(const Settings& settings) {
    if (settings.measure.hop <= settings.measure.frame) return {};
    return Refusal{
        fmt::format("a hop longer than the frame ({}) would skip samples", settings.measure.frame),
        "choose at most the frame's length"};
}

std::optional<Refusal> step_fits_segment(const Settings& settings) {
    const MeasureSettings& measure = settings.measure;
    if (measure.step_s <= measure.segment_s) return {};
    return Refusal{fmt::format("a step of {} s does not fit into a segment of {} s",
                               format_number(measure.step_s), format_number(measure.segment_s)),
                   "choose a shorter step or a longer segment"};
}

constexpr SettingKey kMeasureKeys[] = {
    {.name = "segment_s",
     .member = measure<&MeasureSettings::segment_s>,
     .least = 1,
     .most = 3600,
     .unit = "s",
     .meaning = "seconds that one row of results covers",
     .measuring = true},
    {.name = "frame",
     .member = measure<&MeasureSettings::frame>,
     .least = 16,
     .most = 65'536,
     .unit = "samples",
     .meaning = "samples of one transform; even",
     .measuring = true,
     .check = frame_is_even},
    {.name = "hop",
     .member = measure<&MeasureSettings::hop>,
     .least = 1,
     .most = 65'536,
     .unit = "samples",
     .meaning = "samples from one frame to the next, at most the frame",
     .without = "the frame",
     .measuring = true,
     .check = hop_fits_frame,
     .otherwise = [](Settings& s) { s.measure.hop = s.measure.frame; }},
    {.name = "range_hz",
     .member =
         [](Settings& s) {
             return OpenRange{s.measure.range_low_hz, s.measure.range_high_hz};
         },
     .unit = "Hz",
     .meaning = "analysis range; by default from 200 Hz to half the sample rate",
     .more = "used by the indices of the whole spectrum",
     .example = "[200, 24000]",
     .measuring = true},
    {.name = "step_s",
     .member = measure<&MeasureSettings::step_s>,
     .least = 0.01,
     .most = 3600,
     .unit = "s",
     .meaning = "step of the acoustic complexity index, at most the segment",
     .measuring = true,
     .check = step_fits_segment},
    {.name = "anthrophony_hz",
     .member = measure<&MeasureSettings::anthrophony>,
     .unit = "Hz",
     .meaning = "low band of the NDSI",
     .measuring = true},
    {.name = "biophony_hz",
     .member = measure<&MeasureSettings::biophony>,
     .unit = "Hz",
     .meaning = "high band of the NDSI, band of bi and standout",
     .measuring = true},
};

constexpr SettingKey kScreenKeys[] = {
    {.name = "clipped_excludes",
     .member = screen<&ScreenSettings::clipped_excludes>,
     .meaning = "leave out segments whose samples are cut off at full scale"},
    {.name = "dead_excludes",
     .member = screen<&ScreenSettings::dead_excludes>,
     .meaning = "leave out segments of a dead or disconnected microphone"},
    {.name = "short_excludes",
     .member = screen<&ScreenSettings::short_excludes>,
     .meaning =
         "leave out the shorter last segment of a file (it is never averaged with whole ones)"},
    {.name = "outside_excludes",
     .member = screen<&ScreenSettings::outside_excludes>,
     .meaning = "leave out segments before the deployment's start or after its end"},
    {.name = "wind_excludes",
     .member = screen<&ScreenSettings::wind_excludes>,
     .meaning = "leave out segments with wind on the microphone"},
    {.name = "rain_excludes",
     .member = screen<&ScreenSettings::rain_excludes>,
     .meaning = "leave out segments with rain"},
    {.name = "engine_excludes",
     .member = screen<&ScreenSettings::engine_excludes>,
     .meaning = "leave out segments with an engine (motor boat, chainsaw, helicopter, generator)"},
    {.name = "clipped_fraction",
     .member = screen<&ScreenSettings::clipped_fraction>,
     .least = 0,
     .most = 1,
     .unit = "1",
     .meaning = "clipped: at least this share of the samples stands in runs at full scale"},
    {.name = "dead_dbfs",
     .member = screen<&ScreenSettings::dead_dbfs>,
     .least = -200,
     .most = 0,
     .unit = "dBFS",
     .meaning = "dead: the level above 200 Hz is below this"},
    {.name = "dead_silent_share",
     .member = screen<&ScreenSettings::dead_silent_share>,
     .least = 0,
     .most = 1,
     .unit = "1",
     .meaning = "dead: at least this share of the frames holds nothing but zeros"},
    {.name = "dead_noise_dbfs",
     .member = screen<&ScreenSettings::dead_noise_dbfs>,
     .least = -200,
     .most = 0,
     .unit = "dBFS",
     .meaning = "disconnected (told as dead): below this level, and as even in time and pitch as "
                "the next two say; -200 turns this rule off"},
    {.name = "dead_spread_db",
     .member = screen<&ScreenSettings::dead_spread_db>,
     .least = 0,
     .most = 100,
     .unit = "dB",
     .meaning = "disconnected: l10_dbfs is at most this far above l90_dbfs"},
    {.name = "dead_flatness_db",
     .member = screen<&ScreenSettings::dead_flatness_db>,
     .least = -100,
     .most = 0,
     .unit = "dB",
     .meaning = "disconnected: flatness_db is at least this"},
    {.name = "wind_rumble_db",
     .member = screen<&ScreenSettings::wind_rumble_db>,
     .least = -100,
     .most = 100,
     .unit = "dB",
     .meaning = "wind: rumble is at least this, and gust its own threshold"},
    {.name = "wind_gust_db",
     .member = screen<&ScreenSettings::wind_gust_db>,
     .least = 0,
     .most = 100,
     .unit = "dB",
     .meaning = "wind: gust is at least this, and rumble its own threshold"},
    {.name = "rain_score",
     .member = screen<&ScreenSettings::rain_score>,
     .least = -50,
     .most = 50,
     .unit = "1",
     .meaning = "rain: the rain score is above this; higher leaves more segments in"},
    {.name = "rain_click_weight",
     .member = screen<&ScreenSettings::rain_click_weight>,
     .least = 0,
     .most = 5,
     .unit = "1",
     .meaning = "rain: how much hard, rare clicks (dripping, twigs, fire) speak against rain; 0 "
                "leaves dripping out with the rain, above 1 keeps more of it in"},
    {.name = "rain_nearby_minutes",
     .member = screen<&ScreenSettings::rain_nearby_minutes>,
     .least = 0,
     .most = 180,
     .unit = "min",
     .meaning = "rain: segments at most this far away are heard as neighbours"},
    {.name = "rain_nearby_weight",
     .member = screen<&ScreenSettings::rain_nearby_weight>,
     .least = 0,
     .most = 1,
     .unit = "1",
     .meaning = "rain: how far the neighbours' scores pull a segment's own; 0 leaves them out"},
    {.name = "engine_score",
     .member = screen<&ScreenSettings::engine_score>,
     .least = -50,
     .most = 50,
     .unit = "1",
     .meaning = "engine: the engine score is above this"},
    {.name = "often_share",
     .member = screen<&ScreenSettings::often_share>,
     .least = 0,
     .most = 1,
     .unit = "1",
     .meaning = "a reason that fires on more than this share of a site's segments becomes a "
                "question, not an exclusion (wind, rain, engine)"},
};

constexpr SettingKey kActivityKeys[] = {
    {.name = "choir_share",
     .member = at<&Settings::activity, &ActivitySettings::choir_share>,
     .least = 0.01,
     .most = 1,
     .unit = "1",
     .meaning =
         "a band that sound events fill in more than this share of the seconds is a choir's"},
    {.name = "even",
     .member = at<&Settings::activity, &ActivitySettings::even>,
     .meaning = "hear every site through the same noise as well, and measure again",
     .more = "see [even.md](even.md)"},
    {.name = "too_loud_db",
     .member = at<&Settings::activity, &ActivitySettings::too_loud_db>,
     .least = 1,
     .most = 100,
     .unit = "dB",
     .meaning = "a site so far above the others in over a third of the bands is left out of that"},
};

std::optional<Refusal> zero_never_matters(const Settings& settings) {
    if (settings.contrast.matters != 0.0) return {};
    return Refusal{"every difference is more than 0",
                   "write the smallest difference that would matter, or take the line out"};
}

constexpr SettingKey kContrastKeys[] = {
    {.name = "primary",
     .member =
         [](Settings& s) {
             return OutcomeName{s.contrast.primary_index, s.contrast.primary_window};
         },
     .meaning = "the one outcome that is declared before the data are seen",
     .more = "all others are secondary",
     .example = "{ index = \"even_events\", window = \"dawn\" }"},
    {.name = "seed",
     .member = at<&Settings::contrast, &ContrastSettings::seed>,
     .meaning = "of random permutations, where there are too many to list"},
    {.name = "level",
     .member = at<&Settings::contrast, &ContrastSettings::level>,
     .least = 0.5,
     .most = 0.999,
     .unit = "1",
     .meaning = "of confidence intervals"},
    {.name = "matters",
     .member = [](Settings& s) -> std::optional<double>& { return s.contrast.matters; },
     .least = 0,
     .most = 1'000'000,
     .unit = "1",
     .meaning = "the smallest difference that matters, in the primary's unit",
     .more = "the verdict then says whether the difference is more or smaller",
     .example = "10",
     .check = zero_never_matters},
    {.name = "adjust",
     .member = at<&Settings::contrast, &ContrastSettings::adjust>,
     .most = 2,
     .meaning = "numeric columns of sites.csv that the contrast is adjusted for as well",
     .more = "the adjusted contrast stands beside the primary one, never in its place",
     .example = "[\"elevation_m\"]"},
    {.name = "cluster_threshold",
     .member = at<&Settings::contrast, &ContrastSettings::cluster_threshold>,
     .least = 0.1,
     .most = 100,
     .unit = "1",
     .meaning = "abs t above which neighbouring hours and bands form a cluster"},
};

std::optional<Refusal> pattern_is_not_blank(const Settings& settings) {
    const std::string& pattern = settings.start_time_pattern;
    if (pattern.empty() || !trim(pattern).empty()) return {};
    return Refusal{"an empty pattern fits no name",
                   "write one such as \"*_%Y%m%d_%H%M%S\", or take the line out"};
}

constexpr SettingKey kNamesKeys[] = {
    {.name = "start_time",
     .member = at<&Settings::start_time_pattern>,
     .meaning = "how a file's name says when the recording began",
     .more = "[recordings.md](recordings.md) has the language",
     .example = "\"*_%Y%m%d_%H%M%S\"",
     .without = "the built-in patterns",
     .check = pattern_is_not_blank},
};

constexpr SettingSection kSections[] = {
    {"survey", "", kSurveyKeys},
    {"stands", "", kStandsKeys},
    {"measure", "", kMeasureKeys},
    {"bands",
     "# Bands of your own, each measured beside the whole: name = [from, to] in hertz.\n"
     "#insects = [4000, 12000]\n"
     "#frogs = [800, 2800]\n",
     {}},
    {"windows",
     "# dawn, dusk, day and night are built in and can be changed here, or taken away with: day = "
     "false\n"
     "# New windows come before them. Edges: a clock time, or minutes from sunrise or sunset.\n"
     "#dawn = { from = \"sunrise-60min\", to = \"sunrise+120min\" }\n"
     "#dusk = { from = \"sunset-60min\", to = \"sunset+60min\" }\n"
     "#late = { from = \"22:00\", to = \"04:00\" }\n",
     {}},
    {"screen", "# Why a segment is left out, or only flagged. docs/screens.md has the rules.\n",
     kScreenKeys},
    {"taught_rain", "", kTaughtRainKeys, false},
    {"taught_engine", "", kTaughtEngineKeys, false},
    {"taught_wind", "", kTaughtWindKeys, false},
    {"activity", "# Sound events, choirs and even terms. docs/even.md says what these are.\n",
     kActivityKeys},
    {"contrast",
     "# Declare the primary outcome before the data are seen; everything else is secondary.\n"
     "# even_events at dawn is proposed: sounds counted one by one, with every site heard through "
     "the\n"
     "# same noise, so that a stream or a noisy recorder does not pass for fewer animals.\n",
     kContrastKeys},
    {"names",
     "# How file names say when a recording began, when the built-in patterns do not fit.\n",
     kNamesKeys},
};

}  // namespace

std::span<const SettingSection> setting_sections() {
    return kSections;
}

}  // namespace hearwood
