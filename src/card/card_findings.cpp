#include "card/card_findings.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "audio/holds_nothing.h"
#include "base/text.h"
#include "statistics/quantile.h"
#include "survey/clock.h"
#include "survey/zone.h"

namespace hearwood {
namespace {

using Code = FindingCode;
using std::chrono::days;

// Recorders close and open files a little early or late; FAT keeps even seconds.
constexpr double kSlack_s = 2;
constexpr double kLengthSlack_s = 0.5;  // among lengths that were meant to be the same
// A pause that comes once a day belongs to a schedule though it is rare; one or two recordings
// missing in a row do not, unless a schedule alternates.
constexpr double kRareShare = 0.01, kFrequentShare = 0.1, kFewMissing = 3.5;
// Without dates in the sheet: recorders with memory cards were hardly about before, and a clock
// that says so was reset. Common practice.
constexpr int kFirstPlausibleYear = 2005;

/// Values that belong to a rhythm: at least this share of all lies within the slack, and three at
/// any rate.
bool is_usual(const std::vector<double>& sorted, double value, double slack, double share) {
    const auto first = std::lower_bound(sorted.begin(), sorted.end(), value - slack);
    const auto last = std::upper_bound(sorted.begin(), sorted.end(), value + slack);
    return static_cast<double>(last - first) >=
           std::max(3.0, share * static_cast<double>(sorted.size()));
}

std::string duration_text(double seconds) {
    if (seconds < 120) return fmt::format("{:.0f} s", seconds);
    if (seconds < 2 * 3600) return fmt::format("{:.0f} min", seconds / 60);
    return fmt::format("{:.1f} h", seconds / 3600);
}

class Finder {
  public:
    Finder(std::span<const CardRecording> recordings, const Survey& survey,
           const Deployment& deployment)
        : recordings_(recordings), deployment_(deployment), zone_(Zone::named(survey.time_zone)) {}

    std::vector<Finding> find() {
        for (const CardRecording& recording : recordings_) look_at(recording);
        compare_formats();
        compare_serials();
        compare_contents();
        compare_times();
        std::sort(found_.begin(), found_.end(), [](const Finding& a, const Finding& b) {
            return std::tie(a.code, a.subject.name, a.what) <
                   std::tie(b.code, b.subject.name, b.what);
        });
        return std::move(found_);
    }

  private:
    /// `what` is a clause.
    void add(Code code, const CardRecording& recording, std::string what) {
        const bool lost = code == Code::damaged || code == Code::no_start_time;
        found_.push_back({lost ? Severity::serious : Severity::note, code,
                          Subject::recording(recording.path, deployment_.name),
                          as_sentence(std::move(what)), ""});
    }
    std::string local(Instant instant) const {
        std::string text = format_local(floor_to_second(zone_.to_local(instant).time));
        return text.replace(10, 1, " ");
    }
    static LocalTime floor_to_second(LocalTime time) {
        return std::chrono::floor<std::chrono::seconds>(time);
    }

    bool was_reset(Instant start) const;
    void look_at(const CardRecording& recording);
    void compare_formats();
    void compare_serials();
    void compare_contents();
    void compare_times();
    bool leaves_schedule(Instant from, Instant to) const;

    std::span<const CardRecording> recordings_;
    const Deployment& deployment_;
    Zone zone_;
    std::vector<Finding> found_;
};

bool Finder::was_reset(Instant instant) const {
    const LocalTime start = zone_.to_local(instant).time;
    const std::chrono::year_month_day date(std::chrono::floor<days>(start));
    const bool before = deployment_.start ? start < *deployment_.start - kPlausibleAroundDates
                                          : static_cast<int>(date.year()) < kFirstPlausibleYear;
    return before || (deployment_.end && start > *deployment_.end + kPlausibleAroundDates);
}

void Finder::look_at(const CardRecording& recording) {
    if (!recording.damage.empty()) add(Code::damaged, recording, recording.damage);
    if (!recording.start) {
        if (recording.seconds > 0)
            add(Code::no_start_time, recording,
                "neither its name nor its header says when it began");
        return;
    }
    const LocalTime start = zone_.to_local(*recording.start).time;
    const bool before = deployment_.start && start < *deployment_.start;
    const bool after = deployment_.end && start >= *deployment_.end;
    if (was_reset(*recording.start))
        add(Code::clock_reset, recording,
            "begins " + local(*recording.start) + ": the clock was set back or never set");
    else if (before || after)
        add(Code::outside, recording,
            "begins " + local(*recording.start) +
                (before ? ", before the deployment" : ", after the deployment"));
}

void Finder::compare_formats() {
    using Shape = std::tuple<int, int, int>;
    std::map<Shape, std::size_t> counts;
    for (const CardRecording& r : recordings_)
        if (r.seconds > 0) ++counts[{r.sample_rate, r.channels, r.bits}];
    if (counts.size() < 2) return;
    const auto usual =
        std::max_element(counts.begin(), counts.end(), [](const auto& a, const auto& b) {
            return a.second < b.second;
        })->first;
    const auto [rate, channels, bits] = usual;
    for (const CardRecording& r : recordings_)
        if (r.seconds > 0 && Shape{r.sample_rate, r.channels, r.bits} != usual)
            add(Code::other_format, r,
                fmt::format("{} Hz, {} bit, {}; most are {} Hz, {} bit, {}", r.sample_rate, r.bits,
                            counted(r.channels, "channel"), rate, bits,
                            counted(channels, "channel")));
}

void Finder::compare_serials() {
    std::map<std::string, std::size_t> counts;
    for (const CardRecording& r : recordings_)
        if (!r.serial.empty()) ++counts[r.serial];
    if (counts.size() < 2) return;
    const std::string usual =
        std::max_element(counts.begin(), counts.end(), [](const auto& a, const auto& b) {
            return a.second < b.second;
        })->first;
    for (const CardRecording& r : recordings_)
        if (!r.serial.empty() && r.serial != usual)
            add(Code::other_recorder, r,
                "written by recorder " + r.serial + "; most were by " + usual);
}

void Finder::compare_contents() {
    std::map<std::string, const CardRecording*> first;
    for (const CardRecording& r : recordings_) {
        if (r.size == 0 || r.sha256.empty()) continue;
        const auto [at, is_new] = first.try_emplace(r.sha256, &r);
        if (is_new || holds_nothing(r.copy)) continue;  // a dead microphone's are all alike
        add(Code::duplicate, r, "has the same content as " + at->second->path);
    }
}

/// Whether a stretch of time has some in which the schedule does not run: what is missing then is
/// told by the coverage, which knows the schedule's hours.
bool Finder::leaves_schedule(Instant from, Instant to) const {
    constexpr int kMinutesOfDay = 24 * 60;
    if (deployment_.hours.empty()) return false;
    for (Instant at = from; at < to; at += std::chrono::minutes(1)) {
        const LocalTime local = zone_.to_local(at).time;
        const auto minute =
            static_cast<int>(std::chrono::floor<std::chrono::minutes>(
                                 local - std::chrono::floor<std::chrono::days>(local))
                                 .count());
        const bool runs = std::any_of(
            deployment_.hours.begin(), deployment_.hours.end(), [&](const ScheduledHours& hours) {
                return (minute - hours.from + kMinutesOfDay) % kMinutesOfDay < hours.minutes();
            });
        if (!runs) return true;
    }
    return false;
}

void Finder::compare_times() {
    std::vector<const CardRecording*> timed;
    for (const CardRecording& r : recordings_)
        if (r.start && r.seconds > 0 && !was_reset(*r.start)) timed.push_back(&r);
    std::sort(timed.begin(), timed.end(), [](const CardRecording* a, const CardRecording* b) {
        return std::tie(*a->start, a->path) < std::tie(*b->start, b->path);
    });
    std::vector<double> steps, lengths;
    const auto step = [&timed](std::size_t i) {
        return std::chrono::duration<double>(*timed[i + 1]->start - *timed[i]->start).count();
    };
    for (std::size_t i = 0; i + 1 < timed.size(); ++i) steps.push_back(step(i));
    for (const CardRecording* r : timed) lengths.push_back(r->seconds);
    std::sort(steps.begin(), steps.end());
    std::sort(lengths.begin(), lengths.end());
    const double median_step = steps.empty() ? 0 : upper_median(steps);
    for (std::size_t i = 0; i < timed.size(); ++i) {
        const CardRecording& r = *timed[i];
        const bool is_last = i + 1 == timed.size();
        const auto longer =
            lengths.end() - std::upper_bound(lengths.begin(), lengths.end(), r.seconds + kSlack_s);
        if (!is_usual(lengths, r.seconds, kLengthSlack_s, kRareShare) &&
            2 * static_cast<std::size_t>(longer) > lengths.size())
            add(Code::short_file, r,
                fmt::format("holds {}; most hold {}", duration_text(r.seconds),
                            duration_text(lengths[lengths.size() / 2])));
        if (is_last) continue;
        const CardRecording& next = *timed[i + 1];
        const double free = step(i) - r.seconds;
        const double share = step(i) < kFewMissing * median_step ? kFrequentShare : kRareShare;
        if (free < -kSlack_s)
            add(Code::overlap, next,
                fmt::format("begins {} before {} ends", duration_text(-free), r.path));
        else if (free > kSlack_s && step(i) > median_step + kSlack_s &&
                 !is_usual(steps, step(i), kSlack_s, share) &&
                 !leaves_schedule(
                     *next.start - std::chrono::milliseconds(std::llround(free * 1000)),
                     *next.start))
            add(Code::gap, next,
                fmt::format(
                    "nothing for {} before it, from {} on", duration_text(free),
                    local(*r.start + std::chrono::milliseconds(std::llround(r.seconds * 1000)))));
    }
}

}  // namespace

const char* heading(FindingCode code) {
    switch (code) {
        case Code::damaged:
            return "damaged recordings (their copies are what the card holds)";
        case Code::no_start_time:
            return "recordings with no start time";
        case Code::clock_reset:
            return "recordings with an impossible date";
        case Code::outside:
            return "recordings outside the deployment";
        case Code::other_format:
            return "recordings of another format than the rest";
        case Code::other_recorder:
            return "recordings of another recorder";
        case Code::duplicate:
            return "files with the same content as another";
        case Code::overlap:
            return "recordings that overlap";
        case Code::gap:
            return "gaps in the rhythm of the recordings";
        case Code::short_file:
            return "recordings shorter than the rest";
        default:
            break;
    }
    return "";
}

std::vector<Finding> find_in_card(std::span<const CardRecording> recordings, const Survey& survey,
                                  const Deployment& deployment) {
    return Finder(recordings, survey, deployment).find();
}

}  // namespace hearwood
