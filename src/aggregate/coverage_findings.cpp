#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "aggregate/coverage.h"
#include "base/text.h"
#include "statistics/quantile.h"
#include "survey/zone.h"

namespace hearwood {
namespace {

// More than a late start or an early pick-up: an hour of recording, or, where little is recorded in
// an hour, as many hours as half a day has.
constexpr double kMinutesMissingAtAnEnd = 60;
constexpr int kHoursMissingAtAnEnd = 12;
// A card is sold by decimal gigabytes; file system and other files take a few per cent of it.
constexpr double kLeastFill = 0.9;
constexpr double kSmallestCard = 1e9;
constexpr int kCardSizes = 12;  // each twice the one before: up to 2 TB

struct Scene {
    const Survey& survey;
    const Placer& placer;
    const DeploymentCoverage& coverage;
    std::span<const KnownRecording> recordings;
    const KnownRecording* first = nullptr;  ///< usable ones within the deployment
    const KnownRecording* last = nullptr;
    std::vector<Finding> findings;

    const Zone& zone() const { return placer.zone(); }
    Instant end_of(const KnownRecording& r) const {
        return *r.start + to_milliseconds(r.duration_s());
    }
    /// Takes clauses.
    void add(FindingCode code, std::string what, std::string fix) {
        const Deployment& deployment = survey.deployments[coverage.deployment];
        findings.push_back(
            {code == FindingCode::expected_minutes ? Severity::doubt : Severity::serious, code,
             Subject::deployment(deployment.name, survey.sites[deployment.site].name),
             as_sentence(std::move(what)), as_sentence(std::move(fix))});
    }
};

std::string moment(const Scene& scene, Instant instant) {
    const LocalTime time = scene.zone().to_local(instant).time;
    return format_date(std::chrono::floor<std::chrono::days>(time)) + " " + format_clock(time);
}

std::string in_hours(double minutes) {
    if (minutes < 1) return fmt::format("{:.0f} s", minutes * 60);
    return minutes < 120 ? fmt::format("{:.0f} min", minutes)
                         : fmt::format("{:.1f} h", minutes / 60);
}

void find_ends(Scene& scene) {
    for (const KnownRecording& r : scene.recordings) {
        if (!r.counts() || !r.inside || r.has(Oddity::clock_reset) || r.row.frames == 0) continue;
        if (!scene.first) scene.first = &r;
        if (!scene.last || scene.end_of(r) > scene.end_of(*scene.last)) scene.last = &r;
    }
}

/// What was expected in the whole hours before or after an instant.
struct Missing {
    double minutes = 0;
    int hours = 0;
    bool counts() const {
        return minutes >= kMinutesMissingAtAnEnd || hours >= kHoursMissingAtAnEnd;
    }
};
Missing expected_outside(const Scene& scene, Instant instant, bool before) {
    const LocalTime time = scene.zone().to_local(instant).time;
    Missing missing;
    for (const HourCoverage& hour : scene.coverage.hours) {
        const LocalTime start = LocalTime(hour.date) + std::chrono::hours(hour.hour);
        const bool outside = before ? start + std::chrono::hours(1) <= time : start >= time;
        if (!outside || hour.expected <= 0) continue;
        missing.minutes += hour.expected;
        ++missing.hours;
    }
    return missing;
}

/// The card size that the deployment's files just fill; 0 when none.
double filled_card(const Scene& scene) {
    double bytes = 0;
    for (const KnownRecording& r : scene.recordings)
        if (!r.row.gone) bytes += static_cast<double>(r.row.size);
    for (int i = 0; i < kCardSizes; ++i) {
        const double card = std::ldexp(kSmallestCard, i);
        if (bytes >= kLeastFill * card && bytes <= card) return card;
    }
    return 0;
}

/// Files that were begun after the last good one and hold nothing.
int empty_after(const Scene& scene) {
    int count = 0;
    for (const KnownRecording& r : scene.recordings)
        if (r.row.frames == 0 && r.start && *r.start >= *scene.last->start && &r != scene.last)
            ++count;
    return count;
}

void judge_end(Scene& scene) {
    const Missing missing = expected_outside(scene, scene.end_of(*scene.last), false);
    if (!missing.counts()) return;
    const std::string stopped = "stopped on " + moment(scene, scene.end_of(*scene.last)) + ", " +
                                in_hours(missing.minutes) + " of recording before its end: ";
    const double card = filled_card(scene);
    if (const int empty = empty_after(scene); empty > 0)
        scene.add(
            FindingCode::card_full,
            stopped + fmt::format("the card was full or failed ({} nothing)",
                                  counted(empty, "file after it holds", "files after it hold")),
            "use a larger card or a sparser schedule; check the card before it goes out again");
    else if (card > 0)
        scene.add(FindingCode::card_full,
                  stopped + fmt::format("the card was full (its files fill a card of {:.0f} GB)",
                                        card / 1e9),
                  "use a larger card or a sparser schedule");
    else if (scene.last->row.state == RecordingState::damaged)
        scene.add(FindingCode::power_lost,
                  stopped + "power was lost (the last file was cut off while it was written)",
                  "use fresh or more batteries or a sparser schedule; check the contacts for damp");
    else
        scene.add(FindingCode::stopped,
                  stopped + "its files do not show why (battery, card, theft, switched off)",
                  "look at the recorder's own log and its batteries; correct 'end' in "
                  "deployments.csv if it "
                  "was taken in then");
}

void judge_start(Scene& scene) {
    const Missing missing = expected_outside(scene, *scene.first->start, true);
    if (!missing.counts()) return;
    scene.add(FindingCode::late_start,
              "its first recording is of " + moment(scene, *scene.first->start) + ", " +
                  in_hours(missing.minutes) + " of recording after its start",
              "was the recorder switched on late, or its schedule set for another date? Correct "
              "'start' in "
              "deployments.csv if it was put out then");
}

/// Dates between the first and the last recording, ends left out: those that were out for all 24
/// hours.
std::vector<Date> whole_dates(const Scene& scene) {
    std::set<Date> dates;
    for (const HourCoverage& hour : scene.coverage.hours) dates.insert(hour.date);
    const auto date_of = [&](Instant instant) {
        return std::chrono::floor<std::chrono::days>(scene.zone().to_local(instant).time);
    };
    const Date first = date_of(*scene.first->start), last = date_of(scene.end_of(*scene.last));
    std::vector<Date> whole;
    for (const Date date : dates)
        if (date > first && date < last) whole.push_back(date);
    return whole;
}

/// A schedule is stuck when, on the last two whole dates or more, the recorder still ran but left
/// out at least half of the hours it should keep, the same hours each date.
void judge_schedule(Scene& scene) {
    const std::vector<Date> dates = whole_dates(scene);
    std::set<int> same;
    Date since{};
    std::size_t run = 0;
    for (auto date = dates.rbegin(); date != dates.rend(); ++date) {
        std::set<int> recorded;
        std::size_t wanted = 0, met = 0;
        for (const HourCoverage& hour : scene.coverage.hours) {
            if (hour.date != *date) continue;
            if (hour.present > 0) recorded.insert(hour.hour);
            if (hour.expected <= 0) continue;
            ++wanted;
            met += hour.present >= hour.expected / 2 ? 1 : 0;
        }
        if (recorded.empty() || wanted == 0 || met * 2 > wanted) break;
        if (run > 0 && recorded != same) break;
        same = recorded;
        since = *date;
        ++run;
    }
    if (run < 2) return;
    scene.add(FindingCode::stuck_schedule,
              fmt::format("its schedule was stuck from {} on: the same {} of the day on {} dates, "
                          "the others left "
                          "out",
                          format_date(since), counted(std::ssize(same), "hour"), run),
              "check the recorder's schedule before it goes out again; the hours recorded stand");
}

void judge_gaps(Scene& scene) {
    const LocalTime from = scene.zone().to_local(*scene.first->start).time;
    const LocalTime to = scene.zone().to_local(scene.end_of(*scene.last)).time;
    int hours = 0;
    double missing = 0;
    const HourCoverage* example = nullptr;
    for (const HourCoverage& hour : scene.coverage.hours) {
        const LocalTime start = LocalTime(hour.date) + std::chrono::hours(hour.hour);
        if (start < from || start + std::chrono::hours(1) > to) continue;
        if (hour.expected <= 0 || hour.present >= hour.expected / 2) continue;
        if (hours++ == 0) example = &hour;
        missing += hour.expected - hour.present;
    }
    if (hours == 0) return;
    scene.add(FindingCode::missing_hours,
              fmt::format("gaps: {} of recording missing in {} between its first and last "
                          "recording, the first on "
                          "{} at {:02}:00",
                          in_hours(missing), counted(hours, "hour"), format_date(example->date),
                          example->hour),
              "were files left on the card? Weak batteries and slow cards leave such holes too");
}

void judge_rhythm(Scene& scene) {
    const auto in_sheet =
        scene.survey.deployments[scene.coverage.deployment].expected_minutes_per_hour;
    if (!in_sheet) return;
    const double stated = *in_sheet;
    std::vector<double> present;
    for (const HourCoverage& hour : scene.coverage.hours)
        if (hour.present > 0 && hour.expected >= stated) present.push_back(hour.present);
    if (present.size() < 6) return;
    const double middle = upper_median(present);
    if (std::abs(middle - stated) <= 0.1 * stated) return;
    scene.add(
        FindingCode::expected_minutes,
        fmt::format("an hour usually holds {:.0f} minutes, while deployments.csv expects {}",
                    middle, format_number(stated)),
        "correct expected_minutes_per_hour, or leave it empty to go by the rhythm of the files");
}

void judge_clock(Scene& scene) {
    const auto reset =
        std::count_if(scene.recordings.begin(), scene.recordings.end(),
                      [](const KnownRecording& r) { return r.has(Oddity::clock_reset); });
    if (reset > 0)
        scene.add(
            FindingCode::clock_reset,
            fmt::format("the clock lost its time: {} far from the deployment's dates and "
                        "cannot be placed",
                        counted(reset, "recording starts", "recordings start")),
            "if you know the true time of the first of them, say so in decisions.csv: decision "
            "clock, from the path of that recording, value its true start");
}

}  // namespace

std::vector<Finding> coverage_findings(const Survey& survey, const Placer& placer,
                                       const DeploymentCoverage& coverage,
                                       std::span<const KnownRecording> recordings) {
    Scene scene{survey, placer, coverage, recordings, nullptr, nullptr, {}};
    find_ends(scene);
    if (!scene.first) {
        const std::string folder = survey.deployments[coverage.deployment].folder;
        scene.add(FindingCode::no_recordings,
                  recordings.empty()
                      ? "no recordings in " + folder
                      : "no recording in " + folder + " can be used and placed in its dates",
                  "check the folder, the clock and the dates in deployments.csv");
    } else {
        judge_start(scene);
        judge_end(scene);
        judge_schedule(scene);
        judge_gaps(scene);
    }
    judge_clock(scene);
    judge_rhythm(scene);
    return std::move(scene.findings);
}

}  // namespace hearwood
