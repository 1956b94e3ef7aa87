#include "screen/rules.h"

#include <algorithm>

#include "base/missing.h"
#include "base/text.h"
#include "screen/scores.h"

namespace hearwood {
namespace {

constexpr const char* kNames[kReasonCount] = {"clipped",  "dead",    "short",  "outside",
                                              "wind",     "rain",    "engine", "same_sound",
                                              "silenced", "decision"};

/// Parallel to Screens::Input.
constexpr const char* kInputs[] = {
    "clipped_fraction", "leq_dbfs",     "l10_dbfs", "l90_dbfs", "air_dbfs",
    "flatness_db",      "silent_share", "rumble",   "gust",     "rain_score",
    "engine_score",     "tail",         "crackle"};

constexpr std::int64_t kFewestForDoubt = 20;

}  // namespace

Reasons excluding(const ScreenSettings& settings) {
    const bool switches[kScreenCount] = {settings.clipped_excludes, settings.dead_excludes,
                                         settings.short_excludes,   settings.outside_excludes,
                                         settings.wind_excludes,    settings.rain_excludes,
                                         settings.engine_excludes};
    Reasons reasons;
    for (int i = 0; i < kScreenCount; ++i)
        if (switches[i]) reasons.add(static_cast<Reason>(i));
    // What no screen measured excludes whatever the screens are set to.
    for (int i = kScreenCount; i < kReasonCount; ++i) reasons.add(static_cast<Reason>(i));
    return reasons;
}

const char* name_of(Reason reason) {
    return kNames[static_cast<int>(reason)];
}

std::optional<Reason> reason_named(std::string_view name) {
    for (int i = 0; i < kReasonCount; ++i)
        if (name == kNames[i]) return static_cast<Reason>(i);
    return {};
}

std::vector<std::string> Reasons::names() const {
    std::vector<std::string> names;
    for (int i = 0; i < kReasonCount; ++i)
        if (has(static_cast<Reason>(i))) names.push_back(kNames[i]);
    return names;
}

std::string Reasons::text() const {
    return join(names(), ";");
}

Screens::Screens(const ScreenSettings& settings, std::span<const std::string> columns)
    : settings_(settings), excluding_(excluding(settings)) {
    static_assert(std::size(kInputs) == input_count);
    for (int i = 0; i < input_count; ++i) {
        const auto found = std::find(columns.begin(), columns.end(), kInputs[i]);
        columns_[i] = found == columns.end() ? -1 : static_cast<int>(found - columns.begin());
    }
    for (std::size_t i = 0; i < taught_columns_.size(); ++i) {
        const auto found = std::find(columns.begin(), columns.end(), kTaughtQuantities[i]);
        taught_columns_[i] =
            found == columns.end() ? -1 : static_cast<int>(found - columns.begin());
    }
}

/// NaN where a quantity that it weighs is missing.
double Screens::taught_score(const TaughtRule& rule, std::span<const double> values) const {
    double score = *rule.constant;
    for (std::size_t i = 0; i < rule.weights.size(); ++i) {
        if (!rule.weights[i] || *rule.weights[i] == 0) continue;
        const int column = taught_columns_[i];
        score +=
            *rule.weights[i] * (column < 0 ? kMissing : values[static_cast<std::size_t>(column)]);
    }
    return score;
}

bool Screens::windy(std::span<const double> values) const {
    if (settings_.taught_wind.given()) return taught_score(settings_.taught_wind, values) > 0;
    return at(values, rumble) >= settings_.wind_rumble_db &&
           at(values, gust) >= settings_.wind_gust_db;
}

double Screens::engine_score(std::span<const double> values) const {
    return settings_.taught_engine.given() ? taught_score(settings_.taught_engine, values)
                                           : at(values, engine);
}

double Screens::at(std::span<const double> values, Input input) const {
    const int column = columns_[input];
    return column < 0 ? kMissing : values[column];
}

// Every comparison below is false for a missing value.

bool Screens::is_dead(std::span<const double> values) const {
    if (columns_[leq] >= 0 && is_missing(at(values, leq))) return true;
    const double level = at(values, air);
    if (level < settings_.dead_dbfs) return true;
    if (at(values, silent) >= settings_.dead_silent_share) return true;
    return level < settings_.dead_noise_dbfs &&
           at(values, l10) - at(values, l90) <= settings_.dead_spread_db &&
           at(values, flatness) >= settings_.dead_flatness_db;
}

Judgement Screens::judge(std::span<const double> values, const SegmentContext& context) const {
    Judgement judgement;
    Reasons& flags = judgement.flags;
    if (at(values, clipped_fraction) >= settings_.clipped_fraction) flags.add(Reason::clipped);
    if (is_dead(values)) flags.add(Reason::dead);
    if (!context.complete) flags.add(Reason::too_short);
    if (!context.inside) flags.add(Reason::outside);
    if (context.same_sound) flags.add(Reason::same_sound);
    // What a dead microphone gives is no sound: clicks of its last bit look like drops.
    if (!flags.has(Reason::dead)) {
        if (windy(values)) flags.add(Reason::wind);
        if (rain_score_in_context(values, context) > settings_.rain_score) flags.add(Reason::rain);
        if (engine_score(values) > settings_.engine_score) flags.add(Reason::engine);
        judgement.weather_unknown = is_missing(at(values, rain)) && is_missing(at(values, engine));
    }
    judgement.reasons = flags & excluding_;
    return judgement;
}

double Screens::rain_score(std::span<const double> values) const {
    if (is_dead(values)) return kMissing;
    if (settings_.taught_rain.given()) return taught_score(settings_.taught_rain, values);
    const double measured = at(values, rain);
    if (settings_.rain_click_weight == 1) return measured;
    Quantities q;
    q.tail = at(values, tail);
    q.crackle = at(values, crackle);
    const double clicks = click_points(q);
    return is_missing(clicks) ? measured : measured + (settings_.rain_click_weight - 1) * clicks;
}

double Screens::rain_score_in_context(std::span<const double> values,
                                      const SegmentContext& context) const {
    const double own = rain_score(values);
    if (is_missing(context.rain_nearby)) return own;
    return own + settings_.rain_nearby_weight * (context.rain_nearby - std::clamp(own, -1.0, 1.0));
}

std::vector<double> nearby_rain(std::span<const double> start_s, std::span<const double> scores,
                                double minutes) {
    const double reach = minutes * 60;
    std::vector<double> result(scores.size(), kMissing);
    double sum = 0;
    int count = 0;
    const auto take = [&](std::size_t i, int sign) {
        if (is_missing(scores[i])) return;
        sum += sign * std::clamp(scores[i], -1.0, 1.0);
        count += sign;
    };
    std::size_t from = 0, to = 0;
    for (std::size_t i = 0; i < scores.size(); ++i) {
        while (to < scores.size() && start_s[to] <= start_s[i] + reach) take(to++, 1);
        while (start_s[from] < start_s[i] - reach) take(from++, -1);
        const bool own = !is_missing(scores[i]);
        const int others = count - own;
        if (others > 0) result[i] = (sum - (own ? std::clamp(scores[i], -1.0, 1.0) : 0)) / others;
    }
    return result;
}

void FlagTally::add(const Judgement& judgement) {
    ++segments_;
    weather_unknown_ += judgement.weather_unknown;
    for (int i = 0; i < kReasonCount; ++i) fired_[i] += judgement.flags.has(static_cast<Reason>(i));
}

Reasons FlagTally::suspicious(const ScreenSettings& settings) const {
    Reasons reasons;
    if (segments_ < kFewestForDoubt) return reasons;
    for (const Reason reason : {Reason::wind, Reason::rain, Reason::engine})
        if (static_cast<double>(fired(reason)) >
            settings.often_share * static_cast<double>(segments_))
            reasons.add(reason);
    return reasons;
}

Judgement without(Judgement judgement, Reasons doubted) {
    Reasons kept;
    for (int i = 0; i < kReasonCount; ++i) {
        const auto reason = static_cast<Reason>(i);
        if (judgement.reasons.has(reason) && !doubted.has(reason)) kept.add(reason);
    }
    judgement.reasons = kept;
    return judgement;
}

}  // namespace hearwood
