// Which segments are used, and why not. A rule fires on the segment's own quantities and its
// context; whether what fires excludes is the survey's choice. docs/screens.md explains every rule
// in words.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/missing.h"
#include "screen/quantities.h"
#include "survey/settings.h"

namespace hearwood {

/// In the order in which they are told: the screens, then what a person silenced or decided.
/// `silenced`: a stretch of it was forgotten; no rule of the segment's own, and always excluding.
enum class Reason : std::uint8_t {
    clipped,
    dead,
    too_short,
    outside,
    wind,
    rain,
    engine,
    same_sound,
    silenced,
    decision,
};
/// The first so many are switched by [screen]; the others always exclude.
inline constexpr int kScreenCount = 7, kReasonCount = 10;

/// "clipped", "dead", "short", "outside", "wind", "rain", "engine", "same_sound", "silenced",
/// "decision".
const char* name_of(Reason reason);
std::optional<Reason> reason_named(std::string_view name);

/// A set of reasons, as bits.
class Reasons {
  public:
    Reasons() = default;
    void add(Reason reason) {
        bits_ = static_cast<std::uint16_t>(bits_ | 1u << static_cast<int>(reason));
    }
    bool has(Reason reason) const { return bits_ >> static_cast<int>(reason) & 1u; }
    bool empty() const { return bits_ == 0; }
    /// "wind", "rain": in the enum's order.
    std::vector<std::string> names() const;
    /// "wind;rain"; empty for none.
    std::string text() const;
    Reasons operator&(Reasons other) const { return Reasons(bits_ & other.bits_); }
    Reasons operator|(Reasons other) const { return Reasons(bits_ | other.bits_); }
    bool operator==(const Reasons&) const = default;

  private:
    explicit Reasons(int bits) : bits_(static_cast<std::uint16_t>(bits)) {}
    static_assert(kReasonCount <= 16);
    std::uint16_t bits_ = 0;
};

/// The reasons that exclude a segment, as the survey has it.
Reasons excluding(const ScreenSettings& settings);

/// What the segment's samples do not tell.
struct SegmentContext {
    bool complete = true;  ///< as long as segment_s
    bool inside = true;    ///< between the deployment's start and end
    /// Of a site that has another's recordings: nothing of it can be used.
    bool same_sound = false;
    /// Mean rain score of the neighbours (nearby_rain()); NaN: none, or not looked at.
    double rain_nearby = kMissing;
};

struct Judgement {
    Reasons flags;                 ///< every rule that fired
    Reasons reasons;               ///< those of them that exclude
    bool weather_unknown = false;  ///< alive, but neither rain nor engine could be looked for
    bool kept() const { return reasons.empty(); }
};

/// The rules under one survey's settings, for tables with these columns. Looks the columns up once;
/// judging a segment is then a few comparisons. Safe from several threads.
class Screens {
  public:
    /// `columns` are the names parallel to the values judged later (index_columns() and
    /// quantity_columns() in any order). A column that is not there counts as missing.
    Screens(const ScreenSettings& settings, std::span<const std::string> columns);

    /// A missing quantity never fires a rule, with one exception: a segment without any level is
    /// digitally silent, hence dead.
    Judgement judge(std::span<const double> values, const SegmentContext& context) const;

    /// The rain score of the segment, that of the taught rule where there is one, else with its
    /// clicks weighted as the survey says; NaN when missing or dead: what nearby_rain() averages.
    double rain_score(std::span<const double> values) const;
    /// The score that the rain rule compares: the segment's own, pulled by its neighbours'.
    double rain_score_in_context(std::span<const double> values,
                                 const SegmentContext& context) const;

  private:
    /// The columns that rules read, in this order in columns_.
    enum Input {
        clipped_fraction,
        leq,
        l10,
        l90,
        air,
        flatness,
        silent,
        rumble,
        gust,
        rain,
        engine,
        tail,
        crackle,
        input_count
    };
    /// In the order of kTaughtQuantities.
    using TaughtColumns = std::array<int, kTaughtQuantities.size()>;

    double at(std::span<const double> values, Input input) const;
    double taught_score(const TaughtRule& rule, std::span<const double> values) const;
    bool windy(std::span<const double> values) const;
    double engine_score(std::span<const double> values) const;
    bool is_dead(std::span<const double> values) const;

    ScreenSettings settings_;
    Reasons excluding_;
    std::array<int, input_count> columns_;  ///< -1: not there
    TaughtColumns taught_columns_;          ///< likewise
};

/// The mean rain score of every segment's neighbours, each held between -1 and 1 so that none
/// shouts: those of the same recorder at most `minutes` away, itself left out. `start_s` ascending,
/// parallel to `scores` (NaN: missing, skipped). Linear in the number of segments.
std::vector<double> nearby_rain(std::span<const double> start_s, std::span<const double> scores,
                                double minutes);

/// How often each reason fired at a site. A weather or engine flag that is nearly always up says
/// more about the place (rapids, a road) than about the weather: such a site is a question for the
/// user, not an exclusion.
class FlagTally {
  public:
    void add(const Judgement& judgement);
    /// Of wind, rain, engine: those that fired on more than settings.often_share of at least 20
    /// segments.
    Reasons suspicious(const ScreenSettings& settings) const;
    std::int64_t segments() const { return segments_; }
    std::int64_t fired(Reason reason) const { return fired_[static_cast<int>(reason)]; }
    std::int64_t weather_unknown() const { return weather_unknown_; }

  private:
    std::int64_t segments_ = 0, weather_unknown_ = 0;
    std::array<std::int64_t, kReasonCount> fired_{};
};

/// The judgement without the reasons named: what stays excluded at a site where `doubted` are a
/// question.
Judgement without(Judgement judgement, Reasons doubted);

}  // namespace hearwood
