// Hours of a recording schedule.
#include <algorithm>
#include <bitset>

#include "base/text.h"
#include "survey/survey.h"
#include "survey/windows.h"

namespace hearwood {

namespace {

constexpr int kDay = 24 * 60;

std::optional<ScheduledHours> parse_stretch(const std::string& text) {
    const std::vector<std::string> ends = split(text, '-');
    if (ends.size() != 2) return {};
    const auto from = parse_clock_minutes(trim(ends[0])), to = parse_clock_minutes(trim(ends[1]));
    if (!from || !to || *from == kDay || *from == *to) return {};
    // "20:00-00:00" ends at the day's end.
    return ScheduledHours{*from, *to == 0 ? kDay : *to};
}

}  // namespace

std::optional<std::vector<ScheduledHours>> parse_scheduled_hours(std::string_view text) {
    std::string spaced(text);
    std::replace_if(
        spaced.begin(), spaced.end(), [](char c) { return c == ',' || c == ';'; }, ' ');
    std::vector<ScheduledHours> stretches;
    std::bitset<kDay> taken;
    for (const std::string& part : split(spaced, ' ')) {
        if (part.empty()) continue;
        const auto stretch = parse_stretch(part);
        if (!stretch) return {};
        for (int minute = 0; minute < stretch->minutes(); ++minute) {
            const auto place = static_cast<std::size_t>((stretch->from + minute) % kDay);
            if (taken[place]) return {};
            taken[place] = true;
        }
        stretches.push_back(*stretch);
    }
    if (stretches.empty()) return {};
    return stretches;
}

int scheduled_minutes(const std::vector<ScheduledHours>& stretches) {
    int minutes = 0;
    for (const ScheduledHours& stretch : stretches) minutes += stretch.minutes();
    return stretches.empty() ? kDay : minutes;
}

}  // namespace hearwood
