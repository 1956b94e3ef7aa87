#include "aggregate/card_traits.h"

#include <algorithm>
#include <array>
#include <map>

#include "audio/recorder_mark.h"
#include "audio/start_time.h"
#include "base/text.h"
#include "statistics/quantile.h"
#include "store/store.h"

namespace hearwood {

namespace {

using std::chrono::minutes;

constexpr minutes kStep{60 / kStepsOfHour};

bool says_when(const KnownRecording& recording) {
    return recording.counts() && !recording.has(Oddity::clock_reset) && recording.duration_s() > 0;
}

/// How often something of each step of the day was recorded.
class UsualDay {
  public:
    explicit UsualDay(const Zone& zone) : zone_(zone) {}

    void add(Instant from, Instant to) {
        const LocalTime local = zone_.to_local(from).time;
        const auto since_midnight = local - std::chrono::floor<std::chrono::days>(local);
        const auto begin = std::chrono::duration<double, minutes::period>(since_midnight).count();
        const double end =
            begin + std::chrono::duration<double, minutes::period>(to - from).count();
        // Recordings of a minute every ten count as well as those of hours.
        auto step = static_cast<std::int64_t>(begin) / kStep.count();
        do ++counts_[static_cast<std::size_t>(step % kStepsOfDay)];
        while (static_cast<double>(++step * kStep.count()) < end);
    }
    DaySteps usual() const {
        const int most = *std::max_element(counts_.begin(), counts_.end());
        DaySteps steps;
        for (std::size_t i = 0; i < counts_.size(); ++i)
            steps[i] = counts_[i] > 0 && 2 * counts_[i] >= most;
        return steps;
    }

  private:
    const Zone& zone_;
    std::array<int, kStepsOfDay> counts_{};
};

void take_times(const Placer& placer, std::span<const KnownRecording> recordings,
                CardTraits& traits) {
    UsualDay steps(placer.zone());
    std::vector<std::chrono::milliseconds> between;
    const KnownRecording* before = nullptr;
    for (const KnownRecording& r : recordings) {  // by start
        if (r.start && !r.row.gone) traits.starts.push_back(*r.start);
        if (!says_when(r)) continue;
        const Instant end = *r.start + to_milliseconds(r.duration_s());
        if (!traits.first) traits.first = *r.start;
        if (!traits.last || end > *traits.last) traits.last = end;
        if (before) between.push_back(*r.start - *before->start);
        before = &r;
        steps.add(*r.start, end);
    }
    if (!between.empty()) traits.cycle = upper_median(std::move(between));
    traits.daily = steps.usual();
}

/// What most of them have.
template <class Value>
Value commonest(const std::map<Value, std::size_t>& counts) {
    const auto most =
        std::max_element(counts.begin(), counts.end(),
                         [](const auto& a, const auto& b) { return a.second < b.second; });
    return most == counts.end() ? Value{} : most->first;
}

void take_marks(const Survey& survey, std::span<const KnownRecording> recordings,
                CardTraits& traits) {
    const StartTimeReader names(survey.start_time_pattern);
    std::map<std::string, std::size_t> serials;
    std::map<int, std::size_t> rates;
    std::vector<std::string> prefixes;
    for (const KnownRecording& r : recordings) {
        if (r.row.gone) continue;
        if (!r.row.serial.empty()) ++serials[r.row.serial];
        if (r.row.sample_rate > 0) ++rates[r.row.sample_rate];
        const std::string& path = r.row.card_path.empty() ? r.row.path : r.row.card_path;
        prefixes.push_back(names.prefix_of(name_from_utf8(path)));
    }
    traits.sample_rate = commonest(rates);
    traits.mark = serials.empty() ? identifying_prefix(prefixes) : commonest(serials);
}

/// Measured segments where there are any, else what was listened to when the card came in.
FirstHours sound_of(const Survey& survey, const Store& store, const std::string& deployment,
                    std::span<const KnownRecording> recordings) {
    std::vector<const KnownRecording*> inside;
    std::vector<TimedRecording> times;
    for (const KnownRecording& r : recordings) {
        if (!says_when(r) || !r.inside) continue;
        inside.push_back(&r);
        times.push_back(
            {std::chrono::duration<double>(r.start->time_since_epoch()).count(), r.duration_s()});
    }
    std::vector<std::vector<double>> rows;
    const auto settings = store.settings();
    for (const ListeningPoint& point : first_points(times, survey.measure.segment_s)) {
        const RecordingRow& row = inside[point.recording]->row;
        if (!settings || row.state == RecordingState::pending) continue;
        if (auto values = store.segment_values(row.id, 0, static_cast<int>(point.segment)))
            rows.push_back(std::move(*values));
    }
    if (rows.empty()) return kept_first_hours(store, deployment).value_or(FirstHours{});
    return first_hours(rows, settings->columns, survey.screen);
}

}  // namespace

CardTraits card_traits(const Survey& survey, const Placer& placer, const Store& store,
                       std::size_t deployment, std::span<const KnownRecording> recordings) {
    CardTraits traits;
    traits.deployment = deployment;
    take_times(placer, recordings, traits);
    take_marks(survey, recordings, traits);
    traits.sound = sound_of(survey, store, survey.deployments[deployment].name, recordings);
    return traits;
}

DaySteps scheduled_steps(const std::vector<ScheduledHours>& schedule) {
    DaySteps steps;
    if (schedule.empty()) return steps.set();
    for (const ScheduledHours& stretch : schedule)
        for (int minute = 0; minute < stretch.minutes(); minute += static_cast<int>(kStep.count()))
            steps.set(static_cast<std::size_t>((stretch.from + minute) /
                                               static_cast<int>(kStep.count()) % kStepsOfDay));
    return steps;
}

}  // namespace hearwood
