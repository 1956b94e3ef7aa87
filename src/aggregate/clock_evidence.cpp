// A clock that is off by whole hours: set to another zone, to summer time, or by a slip of the
// finger.
#include <fmt/core.h>

#include <algorithm>
#include <cstdlib>

#include "aggregate/card_evidence.h"
#include "base/text.h"

namespace hearwood {

namespace {

using std::chrono::hours;
using std::chrono::milliseconds;
using std::chrono::minutes;

/// From one edge of the world's zones to the other.
constexpr int kMostHours = 14;
/// Clocks are set, and sheets filled in, to some minutes.
constexpr minutes kSlack{10};
/// Of the recorded steps of the day, or of those of either: what counts as the same schedule, and
/// by how much the shifted one has to fit better.
constexpr double kFits = 0.985, kFitsOthers = 0.9, kBetter = 0.03;
constexpr std::size_t kFewestOthers = 3;

/// Steps of the day `hours` later.
DaySteps later(const DaySteps& steps, int by_hours) {
    const std::size_t by = static_cast<std::size_t>((by_hours % 24 + 24) % 24) *
                           static_cast<std::size_t>(kStepsOfHour);
    return (steps << by) | (steps >> (static_cast<std::size_t>(kStepsOfDay) - by));
}

/// With a step more on either side: clocks drift by minutes, and a start lies at a step's edge.
DaySteps widened(const DaySteps& steps) {
    constexpr std::size_t last = static_cast<std::size_t>(kStepsOfDay) - 1;
    return steps | (steps << 1) | (steps >> 1) | (steps << last) | (steps >> last);
}

double share(std::size_t part, std::size_t whole) {
    return whole == 0 ? 0 : static_cast<double>(part) / static_cast<double>(whole);
}

/// How much of either lies in the other, the smaller of the two.
double alike(const DaySteps& one, const DaySteps& other) {
    return std::min(share((one & widened(other)).count(), one.count()),
                    share((other & widened(one)).count(), other.count()));
}

/// 1, -1, 2, -2 ...: the nearest first.
template <class Fits>
std::optional<int> nearest_shift(const Fits& fits) {
    for (int size = 1; size <= kMostHours; ++size)
        for (const int shift : {size, -size})
            if (fits(shift)) return shift;
    return {};
}

/// By which whole hours the recordings have to move so as to lie in the hours of the sheet.
std::optional<int> shift_into_schedule(const DaySteps& recorded, const DaySteps& schedule) {
    const auto inside = [&](int shift) {
        return share((later(recorded, shift) & widened(schedule)).count(), recorded.count());
    };
    if (schedule.all() || inside(0) >= kFits - kBetter) return {};
    return nearest_shift([&](int shift) { return inside(shift) >= kFits; });
}

/// The steps that most of the others record; nothing where too few keep one schedule.
std::optional<DaySteps> schedule_of(std::span<const CardTraits* const> others) {
    if (others.size() < kFewestOthers) return {};
    DaySteps most;
    for (std::size_t step = 0; step < most.size(); ++step)
        most[step] =
            2 * std::count_if(others.begin(), others.end(),
                              [&](const CardTraits* other) { return other->daily[step]; }) >
            std::ssize(others);
    const auto same = std::count_if(others.begin(), others.end(), [&](const CardTraits* other) {
        return alike(other->daily, most) >= kFitsOthers;
    });
    if (2 * same <= std::ssize(others) || most.none() || most.all()) return {};
    return most;
}

std::optional<int> shift_to_others(const DaySteps& recorded, const DaySteps& most) {
    const double now = alike(recorded, most);
    return nearest_shift([&](int shift) {
        const double then = alike(later(recorded, shift), most);
        return then >= kFitsOthers && then >= now + kBetter;
    });
}

/// By which whole hours the recordings have to move so as to begin when the recorder was put out
/// and to end when it was taken in.
std::optional<int> shift_into_dates(const CardTraits& card, std::optional<Instant> begins,
                                    std::optional<Instant> ends) {
    if (!begins || !ends) return {};
    const milliseconds pause = card.cycle + kSlack;
    const auto fits = [&](int shift) {
        const Instant first = *card.first + hours(shift), last = *card.last + hours(shift);
        return first >= *begins - kSlack && first <= *begins + pause && last <= *ends + kSlack &&
               last >= *ends - pause;
    };
    // In order as they are, or too long for the dates however they lie.
    const bool too_early = *card.first<*begins - kSlack, too_late = *card.last> * ends + kSlack;
    if (too_early == too_late) return {};
    return nearest_shift(fits);
}

std::string hours_in_words(int count) {
    return counted(std::abs(count), "whole hour");
}

}  // namespace

std::optional<HoursOff> hours_off(const Survey& survey, const Placer& placer,
                                  const CardTraits& card,
                                  std::span<const CardTraits* const> others) {
    if (!card.recorded()) return {};
    const Deployment& deployment = survey.deployments[card.deployment];
    const auto told = [](int shift, std::string why) { return HoursOff{-shift, std::move(why)}; };
    if (!deployment.hours.empty())
        if (const auto shift = shift_into_schedule(card.daily, scheduled_steps(deployment.hours)))
            return told(*shift,
                        fmt::format("its recordings fit the hours of deployments.csv ({}) "
                                    "when they are moved by {}",
                                    cell_in(deployment, survey, "hours"), hours_in_words(*shift)));
    std::vector<const CardTraits*> alike;  // of the same schedule, as far as the sheet says
    for (const CardTraits* other : others)
        if (other->recorded() && survey.deployments[other->deployment].hours == deployment.hours)
            alike.push_back(other);
    if (const auto most = schedule_of(alike))
        if (const auto shift = shift_to_others(card.daily, *most))
            return told(*shift, fmt::format("it records at the hours of the {} other cards when "
                                            "its recordings are moved by {}",
                                            alike.size(), hours_in_words(*shift)));
    if (const auto shift =
            shift_into_dates(card, placer.begins(card.deployment), placer.ends(card.deployment)))
        return told(*shift, fmt::format("its recordings begin and end with its dates of "
                                        "deployments.csv when they are moved by {}",
                                        hours_in_words(*shift)));
    return {};
}

}  // namespace hearwood
