#include "aggregate/coverage.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "statistics/quantile.h"

namespace hearwood {
namespace {

using std::chrono::days;
using std::chrono::duration_cast;
using std::chrono::hours;
using std::chrono::milliseconds;

double minutes_between(Instant from, Instant to) {
    return std::chrono::duration<double, std::ratio<60>>(to - from).count();
}

/// A thousandth of a minute is finer than any file name's clock.
double rounded(double minutes) {
    return std::round(minutes * 1000) / 1000;
}

/// What the deployment's recordings cover, each minute once, within the deployment.
HourMinutes present_minutes(const Placer& placer, std::size_t deployment,
                            std::span<const KnownRecording> recordings) {
    HourMinutes present(placer.zone());
    std::optional<Instant> covered_to;
    for (const KnownRecording& recording : recordings) {  // by start
        if (!recording.counts() || recording.has(Oddity::clock_reset)) continue;
        Instant from = *recording.start;
        Instant to = from + to_milliseconds(recording.duration_s());
        if (covered_to) from = std::max(from, *covered_to);
        if (const auto begins = placer.begins(deployment)) from = std::max(from, *begins);
        if (const auto ends = placer.ends(deployment)) to = std::min(to, *ends);
        if (from >= to) continue;
        present.add(from, to);
        covered_to = to;
    }
    return present;
}

/// What reaches into an hour by less than a tenth of what the middle one of the hours holds is the
/// edge of a neighbour's recording (a clock that drifts moves it over the hour by seconds), and
/// nothing that the schedule has there.
void drop_edges(std::array<double, 24>& usual) {
    std::vector<double> known;
    std::copy_if(usual.begin(), usual.end(), std::back_inserter(known),
                 [](double minutes) { return minutes > 0; });
    if (known.empty()) return;
    // The lower middle where hours that hold only edges are half of all is an edge itself.
    const double middle = upper_median(std::move(known));
    for (double& minutes : usual)
        if (minutes < middle / 10) minutes = 0;
}

/// The usual minutes of each hour of the day: the median over dates on which the hour was recorded
/// at all, where these are at least a third of the dates between the first and the last; else the
/// hour is taken for one that the schedule leaves out.
std::array<double, 24> rhythm_of(const HourMinutes& present) {
    std::array<std::vector<double>, 24> seen;
    for (const auto& [when, minutes] : present.all())
        seen[static_cast<std::size_t>(when.second)].push_back(minutes);
    std::array<double, 24> usual{};
    if (present.all().empty()) return usual;
    const auto span = present.all().rbegin()->first.first - present.all().begin()->first.first;
    const auto dates = static_cast<std::size_t>(duration_cast<days>(span).count()) + 1;
    for (std::size_t hour = 0; hour < 24; ++hour) {
        const std::vector<double>& minutes = seen[hour];
        if (minutes.empty() || minutes.size() * 3 < dates) continue;
        usual[hour] = upper_median(minutes);
    }
    drop_edges(usual);
    return usual;
}

/// When the deployment should have recorded: by the sheet, else from the first to the last
/// recording.
struct Period {
    Instant from, to;
};
std::optional<Period> period_of(const Placer& placer, std::size_t deployment,
                                std::span<const KnownRecording> recordings) {
    std::optional<Instant> first, last;
    for (const KnownRecording& r : recordings) {
        if (!r.counts() || !r.inside || r.has(Oddity::clock_reset)) continue;
        const Instant end = *r.start + to_milliseconds(r.duration_s());
        if (!first || *r.start < *first) first = *r.start;
        if (!last || end > *last) last = end;
    }
    if (const auto begins = placer.begins(deployment)) first = begins;
    if (const auto ends = placer.ends(deployment)) last = ends;
    if (!first || !last || *first >= *last) return {};
    return Period{*first, *last};
}

/// Minutes of each hour of the day in which the schedule runs.
std::array<double, 24> scheduled_in(const std::vector<ScheduledHours>& schedule) {
    std::array<double, 24> minutes{};
    for (const ScheduledHours& stretch : schedule)
        for (int i = 0; i < stretch.minutes(); ++i)
            ++minutes[static_cast<std::size_t>((stretch.from + i) / 60 % 24)];
    return minutes;
}

/// Minutes that usually pass between the end of a recording and the beginning of the next, within
/// one stretch of the schedule; nothing where no stretch has two.
std::optional<double> usual_pause(const std::vector<ScheduledHours>& schedule,
                                  std::span<const KnownRecording> recordings) {
    const double longest =
        std::max_element(schedule.begin(), schedule.end(), [](const auto& a, const auto& b) {
            return a.minutes() < b.minutes();
        })->minutes();
    std::vector<double> pauses;
    std::optional<Instant> before;
    for (const KnownRecording& r : recordings) {  // by start
        if (!r.counts() || !r.inside || r.has(Oddity::clock_reset)) continue;
        if (before) {
            const double pause = std::max(0.0, minutes_between(*before, *r.start));
            if (pause < longest) pauses.push_back(pause);
        }
        before = *r.start + to_milliseconds(r.duration_s());
    }
    if (pauses.empty()) return {};
    return upper_median(std::move(pauses));
}

/// Where only the hours of a schedule are stated: what it records in one of them is their usual
/// rhythm, as of a whole hour. One that was never recorded gets the middle of the others, unless
/// the usual pause between recordings is as long as what the schedule runs in that hour: a
/// recording every second hour leaves out every other one.
void fill_scheduled(const std::vector<ScheduledHours>& schedule, std::optional<double> pause,
                    std::array<double, 24>& usual) {
    const std::array<double, 24> scheduled = scheduled_in(schedule);
    std::vector<double> known;
    for (std::size_t hour = 0; hour < 24; ++hour) {
        if (scheduled[hour] > 0 && usual[hour] > 0) {
            usual[hour] = std::min(60.0, usual[hour] * 60 / scheduled[hour]);
            known.push_back(usual[hour]);
        }
    }
    if (known.empty()) return;
    const auto middle = known.begin() + static_cast<std::ptrdiff_t>(known.size() / 2);
    std::nth_element(known.begin(), middle, known.end());
    for (std::size_t hour = 0; hour < 24; ++hour)
        if (usual[hour] <= 0 && !(pause && *pause >= scheduled[hour])) usual[hour] = *middle;
}

/// The part of the period in which the schedule runs.
HourMinutes scheduled_time(const Zone& zone, const Period& period,
                           const std::vector<ScheduledHours>& schedule) {
    HourMinutes time(zone);
    if (schedule.empty()) {
        time.add(period.from, period.to);
        return time;
    }
    const Date first = std::chrono::floor<days>(zone.to_local(period.from).time) - days(1);
    const Date last = std::chrono::floor<days>(zone.to_local(period.to).time);
    for (Date date = first; date <= last; date += days(1))
        for (const ScheduledHours& stretch : schedule) {
            const LocalTime begins = LocalTime(date) + std::chrono::minutes(stretch.from);
            const LocalTime ends = LocalTime(date) + std::chrono::minutes(stretch.to) +
                                   (stretch.to > stretch.from ? days(0) : days(1));
            time.add(std::max(period.from, zone.to_utc(begins)),
                     std::min(period.to, zone.to_utc(ends)));
        }
    return time;
}

/// Usual minutes of the hours in which the schedule runs, in proportion for those that it or the
/// period cuts.
HourMinutes expected_minutes(const Zone& zone, const Period& period,
                             const std::vector<ScheduledHours>& schedule,
                             const std::array<double, 24>& usual) {
    const HourMinutes whole = scheduled_time(zone, period, schedule);
    HourMinutes expected(zone);
    for (const auto& [when, minutes] : whole.all()) {
        const double share = usual[static_cast<std::size_t>(when.second)] / 60;
        if (share <= 0) continue;
        expected.put(when.first, when.second, share * minutes);
    }
    return expected;
}

}  // namespace

void HourMinutes::add(Instant from, Instant to, double weight) {
    while (from < to) {
        const auto local = zone_.to_local(from);
        const LocalTime hour = std::chrono::floor<hours>(local.time);
        const Instant next = std::min(to, from + (hour + hours(1) - local.time));
        const Date date = std::chrono::floor<days>(local.time);
        const int of_day = static_cast<int>(duration_cast<hours>(hour - LocalTime(date)).count());
        minutes_[{date, of_day}] += weight * minutes_between(from, next);
        from = next;
    }
}

void HourMinutes::put(Date date, int hour, double minutes) {
    minutes_[{date, hour}] = minutes;
}

double HourMinutes::at(Date date, int hour) const {
    const auto found = minutes_.find({date, hour});
    return found == minutes_.end() ? 0 : found->second;
}

void add_usable(HourMinutes& usable, Instant start, double duration_s, int channels) {
    usable.add(start, start + to_milliseconds(duration_s), 1.0 / std::max(1, channels));
}

DeploymentCoverage coverage_of(const Survey& survey, const Placer& placer, std::size_t deployment,
                               std::span<const KnownRecording> recordings,
                               const HourMinutes* usable) {
    using Expectation = DeploymentCoverage::Expectation;
    DeploymentCoverage coverage;
    coverage.deployment = deployment;
    const HourMinutes present = present_minutes(placer, deployment, recordings);
    const auto stated = survey.deployments[deployment].expected_minutes_per_hour;
    const std::vector<ScheduledHours>& schedule = survey.deployments[deployment].hours;
    std::array<double, 24> usual = rhythm_of(present);
    if (!schedule.empty()) fill_scheduled(schedule, usual_pause(schedule, recordings), usual);
    if (stated) usual.fill(*stated);

    HourMinutes expected(placer.zone());
    if (const auto period = period_of(placer, deployment, recordings)) {
        expected = expected_minutes(placer.zone(), *period, schedule, usual);
        coverage.expectation = stated || !schedule.empty() ? Expectation::sheet
                               : expected.all().empty()    ? Expectation::none
                                                           : Expectation::rhythm;
    }
    std::map<std::pair<Date, int>, HourCoverage> rows;
    const auto row = [&](const std::pair<Date, int>& when) -> HourCoverage& {
        HourCoverage& hour = rows[when];
        hour.date = when.first;
        hour.hour = when.second;
        return hour;
    };
    for (const auto& [when, minutes] : expected.all()) row(when).expected = rounded(minutes);
    for (const auto& [when, minutes] : present.all()) {
        HourCoverage& hour = row(when);
        hour.present = rounded(minutes);
        hour.usable = usable ? std::min(hour.present, rounded(usable->at(when.first, when.second)))
                             : hour.present;
    }
    for (const auto& [when, hour] : rows) {
        coverage.hours.push_back(hour);
        coverage.expected += hour.expected;
        coverage.present += hour.present;
        coverage.usable += hour.usable;
    }
    coverage.findings = coverage_findings(survey, placer, coverage, recordings);
    return coverage;
}

}  // namespace hearwood
