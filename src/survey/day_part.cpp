#include "survey/day_part.h"

#include <mutex>
#include <shared_mutex>
#include <unordered_map>
#include <utility>
#include <vector>

namespace hearwood {

namespace {

using std::chrono::days;
using std::chrono::local_days;
using std::chrono::minutes;
using Anchor = WindowEdge::Anchor;

/// Entries kept of sites and dates; work goes site by site, so that few are alive at a time.
constexpr std::size_t kKept = 8192;

struct Place {
    double latitude, longitude;
};

struct Key {
    std::size_t site;
    local_days date;
    bool operator==(const Key&) const = default;
};

struct KeyHash {
    std::size_t operator()(const Key& key) const {
        const auto day = static_cast<std::uint64_t>(key.date.time_since_epoch().count());
        return static_cast<std::size_t>((day * 1'000'003 + key.site) * 0x9E3779B97F4A7C15ull);
    }
};

/// A window that may hold instants of a local date.
struct Candidate {
    int window;
    local_days date;
    Span span;
    std::optional<Instant> event;  // of the sun, from which its quarters count; none: local clock
};

int quarter_of(const Candidate& candidate, Instant instant,
               std::chrono::milliseconds since_midnight) {
    using Quarters = std::chrono::duration<int, std::ratio<900>>;
    return std::chrono::floor<Quarters>(candidate.event ? instant - *candidate.event
                                                        : since_midnight)
        .count();
}

struct DateEntry {
    SunTimes sun;
    std::vector<Candidate> candidates;  // the first that holds an instant has it
};

}  // namespace

struct DayParts::State {
    Zone zone;
    std::vector<Window> windows;
    std::vector<Place> places;

    mutable std::shared_mutex mutex;
    mutable std::unordered_map<Key, SunTimes, KeyHash> suns;
    mutable std::unordered_map<Key, DateEntry, KeyHash> entries;

    explicit State(const Survey& survey)
        : zone(Zone::named(survey.time_zone)), windows(survey.windows) {
        for (const Site& site : survey.sites) places.push_back({site.latitude, site.longitude});
    }

    Instant midnight(local_days date) const { return zone.to_utc(LocalTime(date)); }

    // The functions below need the mutex held for writing.

    const SunTimes& sun(const Key& key) const {
        const auto found = suns.find(key);
        if (found != suns.end()) return found->second;
        if (suns.size() >= kKept) suns.clear();
        const Place& place = places.at(key.site);
        return suns.emplace(key, sun_times(key.date, place.latitude, place.longitude, zone))
            .first->second;
    }

    std::optional<Instant> edge(const WindowEdge& edge, const Key& key) const {
        if (edge.anchor == Anchor::clock)
            return zone.to_utc(LocalTime(key.date) + minutes(edge.minutes));
        const SunTimes& times = sun(key);
        const auto& event = edge.anchor == Anchor::sunrise ? times.sunrise : times.sunset;
        if (!event) return {};
        return *event + minutes(edge.minutes);
    }

    /// From sunset to sunrise; runs on through dates on which the sun stays down, one date each.
    std::optional<Span> night(const Window& window, const Key& key) const {
        const Key next{key.site, key.date + days(1)};
        const Instant next_midnight = midnight(next.date);
        const auto to = edge(window.to, next).value_or(next_midnight);
        const auto state = sun(key).state;
        const Instant from = state == SunTimes::State::always_down ? midnight(key.date)
                             : state == SunTimes::State::always_up ? next_midnight
                                                                   : *edge(window.from, key);
        if (from >= to) return {};
        return Span{from, to};
    }

    std::optional<Span> span(const Window& window, const Key& key) const {
        if (window.from.anchor == Anchor::sunset && window.to.anchor == Anchor::sunrise)
            return night(window, key);
        if (window.from.anchor == Anchor::sunrise && window.to.anchor == Anchor::sunset &&
            sun(key).state == SunTimes::State::always_up)
            return Span{midnight(key.date), midnight(key.date + days(1))};
        const auto from = edge(window.from, key);
        if (!from) return {};
        auto to = edge(window.to, key);
        if (!to || *to <= *from) to = edge(window.to, {key.site, key.date + days(1)});
        if (!to || *to <= *from) return {};
        return Span{*from, *to};
    }

    /// Where the window's quarters count from; nothing for one that goes by the clock, and on dates
    /// on which the sun does not do what it hangs on.
    std::optional<Instant> event(const Window& window, const Key& key, const Span& when) const {
        WindowEdge from = window.from, to = window.to;
        from.minutes = to.minutes = 0;
        if (from.anchor != Anchor::clock) return edge(from, key);
        if (to.anchor == Anchor::clock) return {};
        const auto same_date = edge(window.to, key);
        if (same_date && *same_date == when.to) return edge(to, key);
        return edge(to, {key.site, key.date + days(1)});
    }

    const DateEntry& entry(const Key& key) const {
        const auto found = entries.find(key);
        if (found != entries.end()) return found->second;
        if (entries.size() >= kKept) entries.clear();
        DateEntry made{sun(key), {}};
        const Span date{midnight(key.date), midnight(key.date + days(1))};
        for (std::size_t w = 0; w < windows.size(); ++w)
            for (const int shift : {0, -1, 1}) {
                const local_days of = key.date + days(shift);
                const auto when = span(windows[w], {key.site, of});
                if (when && when->from < date.to && when->to > date.from)
                    made.candidates.push_back(
                        {static_cast<int>(w), of, *when, event(windows[w], {key.site, of}, *when)});
            }
        return entries.emplace(key, std::move(made)).first->second;
    }

    /// Calls use(entry) with the entry locked against being dropped.
    template <typename Use>
    void with_entry(const Key& key, Use use) const {
        {
            const std::shared_lock lock(mutex);
            const auto found = entries.find(key);
            if (found != entries.end()) return use(found->second);
        }
        const std::unique_lock lock(mutex);
        use(entry(key));
    }
};

DayParts::DayParts(const Survey& survey) : state_(std::make_unique<State>(survey)) {}
DayParts::~DayParts() = default;
DayParts::DayParts(DayParts&&) noexcept = default;
DayParts& DayParts::operator=(DayParts&&) noexcept = default;

const Zone& DayParts::zone() const {
    return state_->zone;
}

DayPart DayParts::of(std::size_t site, Instant instant) const {
    const auto [local, offset] = state_->zone.to_local(instant);
    DayPart part;
    part.date = std::chrono::floor<days>(local);
    const auto since_midnight = local - part.date;
    part.hour = static_cast<int>(std::chrono::floor<std::chrono::hours>(since_midnight).count());
    part.offset = offset;
    part.window_date = part.date;
    state_->with_entry({site, part.date}, [&](const DateEntry& entry) {
        if (entry.sun.sunrise)
            part.minutes_from_sunrise =
                static_cast<double>((instant - *entry.sun.sunrise).count()) / 60'000.0;
        for (const Candidate& candidate : entry.candidates)
            if (instant >= candidate.span.from && instant < candidate.span.to) {
                part.window = candidate.window;
                part.window_date = candidate.date;
                part.quarter = quarter_of(candidate, instant, since_midnight);
                return;
            }
    });
    return part;
}

std::optional<Span> DayParts::span(std::size_t site, local_days date, std::size_t window) const {
    const std::unique_lock lock(state_->mutex);
    return state_->span(state_->windows.at(window), {site, date});
}

SunTimes DayParts::sun(std::size_t site, local_days date) const {
    const std::unique_lock lock(state_->mutex);
    return state_->sun({site, date});
}

}  // namespace hearwood
