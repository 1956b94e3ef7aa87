#include "screen/rules.h"

#include <catch2/catch.hpp>
#include <map>

#include "base/missing.h"
#include "screen/scores.h"
#include "survey/setting_keys.h"

using namespace hearwood;

namespace {

const std::vector<std::string> kColumns = {
    "leq_dbfs",     "l10_dbfs", "l90_dbfs", "clipped_fraction", "air_dbfs",    "flatness_db",
    "silent_share", "rumble",   "gust",     "rain_score",       "engine_score"};

/// An ordinary segment, but for what is named.
std::vector<double> segment(const std::map<std::string, double>& changes = {}) {
    std::map<std::string, double> values = {
        {"leq_dbfs", -50}, {"l10_dbfs", -48},   {"l90_dbfs", -53},   {"clipped_fraction", 0},
        {"air_dbfs", -51}, {"flatness_db", -4}, {"silent_share", 0}, {"rumble", 3},
        {"gust", 0.6},     {"rain_score", -4},  {"engine_score", -5}};
    for (const auto& [name, value] : changes) values.at(name) = value;
    std::vector<double> row;
    for (const std::string& name : kColumns) row.push_back(values.at(name));
    return row;
}

Judgement judged(const std::map<std::string, double>& changes, const SegmentContext& context = {},
                 const ScreenSettings& settings = {}) {
    return Screens(settings, kColumns).judge(segment(changes), context);
}

}  // namespace

TEST_CASE("an ordinary segment is kept", "[screen]") {
    const Judgement judgement = judged({});
    CHECK(judgement.flags.text().empty());
    CHECK(judgement.kept());
}

TEST_CASE("each rule fires at its threshold and not below it", "[screen]") {
    const ScreenSettings s;
    CHECK(judged({{"clipped_fraction", s.clipped_fraction}}).flags.text() == "clipped");
    CHECK(judged({{"clipped_fraction", s.clipped_fraction * 0.99}}).flags.text().empty());
    CHECK(judged({{"air_dbfs", s.dead_dbfs - 0.1}}).flags.text() == "dead");
    CHECK(judged({{"air_dbfs", s.dead_dbfs}}).flags.text().empty());
    CHECK(judged({{"silent_share", s.dead_silent_share}}).flags.text() == "dead");
    CHECK(judged({{"silent_share", s.dead_silent_share - 0.01}}).flags.text().empty());
    CHECK(judged({{"rumble", s.wind_rumble_db}, {"gust", s.wind_gust_db}}).flags.text() == "wind");
    CHECK(judged({{"rumble", s.wind_rumble_db}}).flags.text().empty());
    CHECK(judged({{"gust", s.wind_gust_db}}).flags.text().empty());
    CHECK(judged({{"rain_score", 0.01}}).flags.text() == "rain");
    CHECK(judged({{"rain_score", 0}}).flags.text().empty());
    CHECK(judged({{"engine_score", 0.01}}).flags.text() == "engine");
    CHECK(judged({{"engine_score", 0}}).flags.text().empty());
    CHECK(judged({}, {.complete = false}).flags.text() == "short");
    CHECK(judged({}, {.inside = false}).flags.text() == "outside");
}

TEST_CASE("even, flat, soft noise is a disconnected microphone; a soft night is not", "[screen]") {
    const std::map<std::string, double> noise = {
        {"air_dbfs", -75}, {"l10_dbfs", -73.6}, {"l90_dbfs", -74.4}, {"flatness_db", -0.01}};
    CHECK(judged(noise).flags.text() == "dead");
    auto night = noise;
    night["flatness_db"] = -2;
    CHECK(judged(night).flags.text().empty());
    auto crickets = noise;
    crickets["l10_dbfs"] = -70;
    CHECK(judged(crickets).flags.text().empty());
    CHECK(judged(noise, {}, {.dead_noise_dbfs = -200}).flags.text().empty());
}

TEST_CASE("only what the survey says excludes", "[screen]") {
    const std::map<std::string, double> all = {{"clipped_fraction", 1},
                                               {"rumble", 30},
                                               {"gust", 5},
                                               {"rain_score", 3},
                                               {"engine_score", 3}};
    const SegmentContext context{.complete = false, .inside = false};
    const Judgement usual = judged(all, context);
    CHECK(usual.flags.text() == "clipped;short;outside;wind;rain;engine");
    CHECK(usual.reasons.text() == "clipped;short;outside;rain");
    CHECK_FALSE(usual.kept());
    ScreenSettings lenient;
    lenient.rain_excludes = false;
    const Judgement wet = judged({{"rain_score", 3}}, {}, lenient);
    CHECK(wet.flags.text() == "rain");
    CHECK(wet.kept());
}

TEST_CASE("weather is not told of a dead microphone", "[screen]") {
    const Judgement judgement = judged(
        {{"air_dbfs", -99}, {"rumble", 30}, {"gust", 5}, {"rain_score", 3}, {"engine_score", 3}});
    CHECK(judgement.flags.text() == "dead");
}

TEST_CASE("missing values fire nothing, but a segment without level is dead", "[screen]") {
    std::map<std::string, double> missing;
    for (const std::string& name : kColumns)
        if (name != "leq_dbfs") missing[name] = kMissing;
    CHECK(judged(missing).flags.text().empty());
    CHECK(judged({{"leq_dbfs", kMissing}}).flags.text() == "dead");
}

TEST_CASE("a column that is not there counts as missing", "[screen]") {
    const std::vector<std::string> only = {"rain_score"};
    const std::vector<double> wet = {2};
    CHECK(Screens({}, only).judge(wet, {}).flags.text() == "rain");
}

TEST_CASE("the survey weighs the clicks that speak against rain", "[screen]") {
    const std::vector<std::string> columns = {"rain_score", "tail", "crackle"};
    // A tenth of tail above 0.15 at 12 points and a tenth of crackle above 1.06 at 13: 2.5 taken
    // off.
    const std::vector<double> drip = {-1.5, 0.25, 1.16};
    const auto score = [&](double weight) {
        return Screens({.rain_click_weight = weight}, columns).rain_score(drip);
    };
    CHECK(score(1) == -1.5);
    CHECK(score(0) == Approx(1));
    CHECK(score(2) == Approx(-4));
    CHECK(Screens({.rain_click_weight = 0}, columns).judge(drip, {}).flags.text() == "rain");
    const std::vector<double> unknown = {-1.5, kMissing, kMissing};
    CHECK(Screens({.rain_click_weight = 0}, columns).rain_score(unknown) == -1.5);
}

TEST_CASE("neighbours tip a doubtful segment and no other", "[screen]") {
    const SegmentContext dry{.rain_nearby = -1}, rainy{.rain_nearby = 1};
    CHECK(judged({{"rain_score", 0.1}}, dry).flags.text().empty());
    CHECK(judged({{"rain_score", 0.5}}, dry).flags.text() == "rain");
    CHECK(judged({{"rain_score", -0.1}}, rainy).flags.text() == "rain");
    CHECK(judged({{"rain_score", -2}}, rainy).flags.text().empty());
    CHECK(judged({{"rain_score", 0.1}}, dry, {.rain_nearby_weight = 0}).flags.text() == "rain");
}

TEST_CASE("neighbours are those within reach, without oneself and without the missing",
          "[screen]") {
    const std::vector<double> start = {0, 60, 120, 1000, 1060, 5000};
    const std::vector<double> score = {0.5, -3, kMissing, 0.25, 9, 0.75};
    const std::vector<double> nearby = nearby_rain(start, score, 2);
    CHECK(nearby[0] == Approx(-1));  // -3 held at -1
    CHECK(nearby[1] == Approx(0.5));
    CHECK(nearby[2] == Approx(-0.25));  // of 0.5 and -1
    CHECK(nearby[3] == Approx(1));
    CHECK(nearby[4] == Approx(0.25));
    CHECK(is_missing(nearby[5]));
}

TEST_CASE("a flag that is nearly always up becomes a question", "[screen]") {
    const ScreenSettings settings;
    const Judgement rapids = judged({{"rain_score", 3}, {"clipped_fraction", 1}});
    FlagTally often, seldom, few;
    for (int i = 0; i < 100; ++i) {
        often.add(i < 81 ? rapids : judged({}));
        seldom.add(i < 80 ? rapids : judged({}));
    }
    for (int i = 0; i < 19; ++i) few.add(rapids);
    CHECK(often.suspicious(settings).text() == "rain");  // clipping is never excused
    CHECK(seldom.suspicious(settings).empty());
    CHECK(few.suspicious(settings).empty());
    const Judgement excused = without(rapids, often.suspicious(settings));
    CHECK(excused.flags.text() == "clipped;rain");
    CHECK(excused.reasons.text() == "clipped");
}

TEST_CASE("segments in which the weather cannot be looked for are counted", "[screen]") {
    const Judgement unknown = judged({{"rain_score", kMissing}, {"engine_score", kMissing}});
    CHECK(unknown.weather_unknown);
    CHECK(unknown.kept());
    CHECK_FALSE(judged({{"rain_score", kMissing}}).weather_unknown);
    // A dead microphone has no weather.
    CHECK_FALSE(judged({{"rain_score", kMissing}, {"engine_score", kMissing}, {"air_dbfs", -120}})
                    .weather_unknown);
    FlagTally tally;
    tally.add(unknown);
    tally.add(judged({}));
    CHECK(tally.weather_unknown() == 1);
    CHECK(tally.segments() == 2);
}

TEST_CASE("a rain score is what its formula says", "[screen]") {
    CHECK(is_missing(rain_score_of({})));
    Quantities shower;
    shower.drops = 2;
    shower.tail = 0.25;
    shower.crackle = 1;
    shower.tilt = -9;
    shower.surge = 0.5;
    shower.swing = 8;
    // 6.5 points an octave of drops, a tenth of tail over 0.15 at 12, a decibel of tilt under -8 at
    // 0.25.
    CHECK(is_missing(rain_score_of(shower)));  // as long as anything is missing
    shower.throb = 0.05;
    CHECK(rain_score_of(shower) == Approx(-0.4 + 6.5 - 1.2 - 0.25).epsilon(1e-12));
    // Harder clicks: a quarter over 0.15 and a tenth over 0.3, at 12 each.
    shower.tail = 0.4;
    CHECK(rain_score_of(shower) == Approx(-0.4 + 6.5 - 3 - 1.2 - 0.25).epsilon(1e-12));
}

TEST_CASE("an engine's score is what its formula says", "[screen]") {
    CHECK(is_missing(engine_score_of({})));
    Quantities boat;
    boat.throb = 0.4;
    boat.hum = 0.024;
    boat.lines = 0.9;
    boat.whine = 0.05;
    boat.flicker = 2;
    boat.slope = -4;
    boat.swing = 22;
    boat.rumble = 18;
    // Three octaves of throb at 1.95, two of hum at 0.9, 0.08 of lines at 23.5, 0.01 of whine at
    // 32, a fall of 4 dB an octave at 0.88; off go an octave of flicker at 4.5, 2 dB of swing at
    // 0.48, 2 dB of rumble at 0.55.
    const double but_throb = -5.85 + 1.8 + 1.88 + 0.32 - 4.5 + 3.52 - 0.96 - 1.1;
    CHECK(engine_score_of(boat) == Approx(but_throb + 5.85).epsilon(1e-12));
    // Four octaves, and 0.1 over 0.7 at 60: a beat as regular as strokes.
    boat.throb = 0.8;
    CHECK(engine_score_of(boat) == Approx(but_throb + 7.8 + 6).epsilon(1e-12));
}

TEST_CASE("the settings say of every reason whether it excludes, in its order", "[screen]") {
    int at = 0;
    for (const SettingSection& section : setting_sections())
        if (section.name == std::string("screen"))
            for (const SettingKey& key : section.keys)
                if (std::holds_alternative<bool& (*)(Settings&)>(key.member)) {
                    REQUIRE(at < kScreenCount);
                    CHECK(key.name ==
                          std::string(name_of(static_cast<Reason>(at++))) + "_excludes");
                }
    // The others exclude whatever is set.
    CHECK(static_cast<Reason>(at) == Reason::same_sound);
    CHECK(at == kScreenCount);
    for (; at < kReasonCount; ++at) CHECK(excluding(ScreenSettings{}).has(static_cast<Reason>(at)));
}

TEST_CASE("a taught rule judges in the place of the fixed one", "[screen]") {
    const std::vector<std::string> columns{"leq_dbfs", "rain_score", "engine_score", "drops",
                                           "throb",    "rumble",     "gust"};
    const std::vector<double> values{-40, 5, 5, 2, 0.1, 30, 9};
    ScreenSettings settings;
    const Reasons fixed = Screens(settings, columns).judge(values, {}).flags;
    CHECK(fixed.text() == "wind;rain;engine");
    settings.taught_rain.constant = -2.5;
    settings.taught_rain.weights[6] = 1;  // drops: -2.5 + 2
    settings.taught_engine.constant = 0.5;
    settings.taught_engine.weights[7] = -10;  // throb: 0.5 - 1
    settings.taught_wind.constant = -1;       // nothing else: never
    CHECK(Screens(settings, columns).judge(values, {}).flags.empty());
    settings.taught_rain.constant = -1.5;
    CHECK(Screens(settings, columns).judge(values, {}).flags.text() == "rain");
    CHECK(Screens(settings, columns).rain_score(values) == 0.5);
    // A quantity that is missing fires nothing; one without weight may be missing.
    settings.taught_engine.constant = 9;
    settings.taught_engine.weights[9] = 1;  // whine, which no column has
    CHECK(Screens(settings, columns).judge(values, {}).flags.text() == "rain");
}
