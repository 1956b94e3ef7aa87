#include "aggregate/card_evidence.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "aggregate/decided.h"
#include "aggregate/judged_segments.h"
#include "audio/recorder_mark.h"
#include "base/text.h"
#include "statistics/quantile.h"
#include "survey/zone.h"

namespace hearwood {

namespace {

using std::chrono::hours;

/// A gain moves level and background alike. Sites differ too: by so many times their usual spread
/// nothing is said.
constexpr double kOddDb = 6, kSpreads = 2.5;
constexpr std::size_t kFewestHeard = 4;
/// A deaf microphone hears no ups and downs, where the others do.
constexpr double kDeafDb = 12, kDeafSpreadDb = 1.5, kLivelySpreadDb = 3;
/// Recorders are switched on before they are put out.
constexpr hours kAroundDates{1};
/// Two cards that fit each other's recorder better by so much may be swapped.
constexpr double kFloorsFitBetterDb = 6;
constexpr std::size_t kNamesShown = 3;

class Evidence {
  public:
    Evidence(const Survey& survey, const Placer& placer, std::span<const CardTraits> cards)
        : survey_(survey), placer_(placer) {
        const Decided decided(survey);
        for (const CardTraits& card : cards)
            if (!decided.left_out_whole(card.deployment, "")) cards_.push_back(&card);
    }

    std::vector<Finding> find() {
        compare_sounds();
        for (const CardTraits* card : cards_) {
            look_at_sound(*card);
            look_at_clock(*card);
            look_for_swap(*card);
        }
        return std::move(findings_);
    }

  private:
    const Deployment& sheet(const CardTraits& card) const {
        return survey_.deployments[card.deployment];
    }
    bool is_swapped_by_decision(const CardTraits& card) const {
        return std::any_of(survey_.decisions.begin(), survey_.decisions.end(), [&](const auto& d) {
            return d.kind == Decision::Kind::belongs_to && d.deployment == card.deployment;
        });
    }

    void add(const CardTraits& card, Severity severity, FindingCode code, std::string what,
             std::string fix) {
        const Deployment& deployment = sheet(card);
        findings_.push_back(
            {severity, code,
             Subject::deployment(deployment.name, survey_.sites[deployment.site].name),
             as_sentence(std::move(what)), as_sentence(std::move(fix))});
    }

    void compare_sounds();
    void look_at_sound(const CardTraits& card);
    void look_at_clock(const CardTraits& card);
    void look_for_swap(const CardTraits& card);
    std::string swap_by_dates(const CardTraits& card, std::vector<std::size_t>& with) const;
    std::string swap_by_marks(const CardTraits& card, std::vector<std::size_t>& with) const;
    std::string swap_by_floors(const CardTraits& card, std::vector<std::size_t>& with) const;
    double fit_in_dates(const CardTraits& card, std::size_t deployment) const;
    std::optional<double> floor_of_recorder(const std::string& recorder, std::size_t without) const;

    const Survey& survey_;
    const Placer& placer_;
    std::vector<const CardTraits*> cards_;
    std::vector<Finding> findings_;
    // Of the cards that were listened to: medians, and what is odd.
    bool gains_known_ = false;
    std::size_t heard_ = 0;
    double level_ = 0, floor_ = 0, spread_ = 0, odd_level_ = 0, odd_floor_ = 0;

    /// What the stated gain does not explain.
    double less_gain(const CardTraits& card, double level) const {
        return gains_known_ ? level - *sheet(card).gain_db : level;
    }
};

/// How far from the median a value has to lie to be odd.
double odd_distance(const std::vector<double>& values) {
    return std::max(kOddDb, kSpreads * kDeviationsPerMedian * median_deviation(values));
}

bool is_dead(const FirstHours& sound) {
    return sound.segments > 0 && 2 * sound.dead >= sound.segments;
}

void Evidence::compare_sounds() {
    std::vector<const CardTraits*> heard;
    for (const CardTraits* card : cards_)
        if (card->sound.segments > 0 && !is_dead(card->sound) &&
            !is_missing(card->sound.level_dbfs))
            heard.push_back(card);
    heard_ = heard.size();
    if (heard_ < kFewestHeard) return;
    gains_known_ = std::all_of(heard.begin(), heard.end(),
                               [&](const CardTraits* card) { return sheet(*card).gain_db; });
    std::vector<double> levels, floors, spreads;
    for (const CardTraits* card : heard) {
        levels.push_back(less_gain(*card, card->sound.level_dbfs));
        floors.push_back(less_gain(*card, card->sound.floor_dbfs));
        spreads.push_back(card->sound.spread_db);
    }
    level_ = median(levels);
    floor_ = median(floors);
    spread_ = median(spreads);
    odd_level_ = odd_distance(levels);
    odd_floor_ = odd_distance(floors);
}

void Evidence::look_at_sound(const CardTraits& card) {
    const FirstHours& sound = card.sound;
    if (is_dead(sound))
        return add(card, Severity::serious, FindingCode::dead_microphone,
                   fmt::format("nothing is heard in {} of the {} segments of its first hours that "
                               "were listened to",
                               sound.dead, sound.segments),
                   "listen to a minute of it and change the microphone before the recorder goes "
                   "out again; leave the deployment out by a row of decisions.csv");
    if (sound.segments == 0 || heard_ < kFewestHeard) return;
    const double level = less_gain(card, sound.level_dbfs) - level_;
    const double floor = less_gain(card, sound.floor_dbfs) - floor_;
    if (level < -kDeafDb && floor < -kDeafDb && sound.spread_db < kDeafSpreadDb &&
        spread_ >= kLivelySpreadDb)
        return add(card, Severity::serious, FindingCode::dead_microphone,
                   fmt::format("its first hours are {:.0f} dB quieter than those of the other "
                               "recorders and have no ups and downs: its microphone hears "
                               "nothing",
                               -level),
                   "listen to a minute of it and change the microphone before the recorder goes "
                   "out again; leave the deployment out by a row of decisions.csv");
    if (std::abs(level) < odd_level_ || std::abs(floor) < odd_floor_ || level * floor < 0) return;
    add(card, Severity::doubt, FindingCode::other_gain,
        fmt::format("its first hours are {:.0f} dB {} than those of the other recorders, and their "
                    "background {:.0f} dB{}",
                    std::abs(level), level > 0 ? "louder" : "quieter", std::abs(floor),
                    gains_known_ ? ", the gains of deployments.csv taken off" : ""),
        level > 0
            ? "was its gain set as on the others? Water or insects beside it would do it too: "
              "listen to a minute"
            : "was its gain set as on the others? A wet or covered microphone would do it "
              "too: listen to a minute");
}

void Evidence::look_at_clock(const CardTraits& card) {
    std::vector<const CardTraits*> others;
    for (const CardTraits* other : cards_)
        if (other != &card) others.push_back(other);
    const auto off = hours_off(survey_, placer_, card, others);
    if (!off) return;
    const Instant right = *card.first - std::chrono::hours(off->ahead);
    std::string first =
        format_local(std::chrono::round<std::chrono::seconds>(placer_.zone().to_local(right).time));
    first.replace(first.find('T'), 1, " ");
    add(card, Severity::serious, FindingCode::hours_off,
        fmt::format("its clock seems to be {} {}: {}", counted(std::abs(off->ahead), "hour"),
                    off->ahead > 0 ? "ahead" : "behind", off->why),
        fmt::format("compare it with a clock that is right; if it is so, write a row of "
                    "decisions.csv: clock, {}, value {}",
                    sheet(card).name, first));
}

/// The share of its recordings that a deployment's dates have room for; 0 without dates.
double Evidence::fit_in_dates(const CardTraits& card, std::size_t deployment) const {
    const auto begins = placer_.begins(deployment), ends = placer_.ends(deployment);
    if (!begins || !ends || card.starts.empty()) return 0;
    const auto inside =
        std::count_if(card.starts.begin(), card.starts.end(), [&](const Instant& start) {
            return start >= *begins - kAroundDates && start < *ends + kAroundDates;
        });
    return static_cast<double>(inside) / static_cast<double>(card.starts.size());
}

std::string Evidence::swap_by_dates(const CardTraits& card, std::vector<std::size_t>& with) const {
    const auto begins = placer_.begins(card.deployment), ends = placer_.ends(card.deployment);
    if (!begins || !ends || card.starts.empty() || fit_in_dates(card, card.deployment) >= 0.5)
        return {};
    std::vector<std::size_t> fitting, mutual;
    for (std::size_t other = 0; other < survey_.deployments.size(); ++other) {
        if (other == card.deployment || fit_in_dates(card, other) < 0.9) continue;
        fitting.push_back(other);
        for (const CardTraits* others : cards_)
            if (others->deployment == other && fit_in_dates(*others, other) < 0.5 &&
                fit_in_dates(*others, card.deployment) >= 0.9)
                mutual.push_back(other);
    }
    with = mutual.empty() ? fitting : mutual;
    if (with.empty()) return {};
    return mutual.empty() ? "its recordings lie outside its own dates and within theirs"
                          : "each card's recordings lie within the other's dates";
}

/// By serial numbers and names of files: whose recorder wrote them.
std::string Evidence::swap_by_marks(const CardTraits& card, std::vector<std::size_t>& with) const {
    const std::string& own = sheet(card).recorder;
    const std::string mark = bare_mark(card.mark);
    if (own.empty() || mark.empty() || mark == bare_mark(own)) return {};
    std::set<std::string> of_own, of_mark;  // marks of this recorder; recorders of this mark
    for (const Deployment& other : survey_.deployments)
        if (bare_mark(other.recorder) == mark) of_mark.insert(other.recorder);
    for (const CardTraits* other : cards_) {
        if (other == &card || other->mark.empty()) continue;
        if (sheet(*other).recorder == own) of_own.insert(bare_mark(other->mark));
        if (bare_mark(other->mark) == mark && !sheet(*other).recorder.empty())
            of_mark.insert(sheet(*other).recorder);
    }
    of_mark.erase(own);
    if (of_mark.empty() || of_own.contains(mark)) return {};
    for (std::size_t other = 0; other < survey_.deployments.size(); ++other)
        if (other != card.deployment && of_mark.contains(survey_.deployments[other].recorder))
            with.push_back(other);
    return fmt::format(
        "its files are marked {}, as those of recorder {}, while deployments.csv "
        "has recorder {}",
        card.mark, *of_mark.begin(), own);
}

/// Middle background of a recorder's other deployments.
std::optional<double> Evidence::floor_of_recorder(const std::string& recorder,
                                                  std::size_t without) const {
    std::vector<double> floors;
    for (const CardTraits* card : cards_)
        if (card->deployment != without && sheet(*card).recorder == recorder &&
            !is_missing(card->sound.floor_dbfs) && !is_dead(card->sound))
            floors.push_back(card->sound.floor_dbfs);
    if (recorder.empty() || floors.empty()) return {};
    return median(floors);
}

std::string Evidence::swap_by_floors(const CardTraits& card, std::vector<std::size_t>& with) const {
    const auto own = floor_of_recorder(sheet(card).recorder, card.deployment);
    if (!own || is_missing(card.sound.floor_dbfs)) return {};
    for (const CardTraits* other : cards_) {
        const std::string& recorder = sheet(*other).recorder;
        if (other == &card || recorder == sheet(card).recorder ||
            is_missing(other->sound.floor_dbfs))
            continue;
        const auto theirs = floor_of_recorder(recorder, other->deployment);
        if (!theirs) continue;
        const double as_is =
            std::abs(card.sound.floor_dbfs - *own) + std::abs(other->sound.floor_dbfs - *theirs);
        const double swapped =
            std::abs(card.sound.floor_dbfs - *theirs) + std::abs(other->sound.floor_dbfs - *own);
        // Both have to fit, not one very well.
        if (as_is - swapped >= 2 * kFloorsFitBetterDb && swapped < kFloorsFitBetterDb) {
            with.push_back(other->deployment);
            return "each card's background is that of the other's recorder at its other sites";
        }
    }
    return {};
}

void Evidence::look_for_swap(const CardTraits& card) {
    if (is_swapped_by_decision(card)) return;
    std::vector<std::size_t> with;
    Severity severity = Severity::serious;
    std::string why = swap_by_dates(card, with);
    if (why.empty()) why = swap_by_marks(card, with);
    if (why.empty()) {
        severity = Severity::doubt;
        why = swap_by_floors(card, with);
    }
    if (why.empty() || with.empty()) return;
    std::vector<std::string> names;
    for (std::size_t i = 0; i < std::min(with.size(), kNamesShown); ++i)
        names.push_back(survey_.deployments[with[i]].name);
    std::string list = join(names, ", ");
    if (with.size() > names.size()) list += fmt::format(" and {} more", with.size() - names.size());
    add(card, severity, FindingCode::swapped,
        fmt::format("its card may be that of {}: {}", list, why),
        fmt::format("look at the labels; if it is so, write a row of decisions.csv: belongs_to, "
                    "{}, value {}, and one for the other card",
                    sheet(card).name, names.front()));
}

}  // namespace

bool is_of_card(FindingCode code) {
    return code == FindingCode::dead_microphone || code == FindingCode::other_gain ||
           code == FindingCode::hours_off || code == FindingCode::swapped;
}

std::vector<Finding> card_evidence(const Survey& survey, const Placer& placer,
                                   std::span<const CardTraits> cards) {
    return Evidence(survey, placer, cards).find();
}

std::vector<Finding> card_evidence(const Survey& survey, const Store& store) {
    const Placer placer(survey);
    std::vector<CardTraits> cards;
    for (const std::size_t deployment : deployments_by_name(survey))
        cards.push_back(card_traits(survey, placer, store, deployment,
                                    recordings_of(survey, store, placer, deployment)));
    return card_evidence(survey, placer, cards);
}

}  // namespace hearwood
