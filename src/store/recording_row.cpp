#include "store/recording_row.h"

#include <fmt/core.h>

#include <utility>

#include "base/error.h"
#include "base/text.h"

namespace hearwood {

namespace {

constexpr std::pair<RecordingState, std::string_view> kWords[] = {
    {RecordingState::pending, "not measured"},
    {RecordingState::measured, "measured"},
    {RecordingState::damaged, "damaged"},
    {RecordingState::unreadable, "unreadable"},
    {RecordingState::no_start_time, "no start time"},
};

}  // namespace

std::string_view word(RecordingState state) {
    for (const auto& [value, text] : kWords)
        if (value == state) return text;
    throw std::logic_error("a recording state without a word");
}

RecordingState recording_state(std::string_view text) {
    for (const auto& [value, known] : kWords)
        if (known == text) return value;
    throw MachineError(fmt::format(
        "survey.db: '{}' is no state of a recording; the database was written by another program",
        printable(text)));
}

std::string wall_time_text(LocalTime time) {
    using namespace std::chrono;
    const auto day = floor<days>(time);
    const year_month_day date{day};
    const hh_mm_ss clock{time - day};
    std::string text =
        fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}", static_cast<int>(date.year()),
                    static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()),
                    clock.hours().count(), clock.minutes().count(), clock.seconds().count());
    if (const auto ms = clock.subseconds().count()) text += fmt::format(".{:03}", ms);
    return text;
}

std::optional<LocalTime> parse_wall_time(std::string_view text) {
    using namespace std::chrono;
    // yyyy-mm-ddThh:mm:ss and perhaps .mmm: everything stands at a fixed place.
    constexpr std::string_view kShape = "dddd-dd-ddTdd:dd:dd.ddd";
    if (text.size() != 19 && text.size() != 23) return std::nullopt;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const bool digit = text[i] >= '0' && text[i] <= '9';
        if (kShape[i] == 'd' ? !digit : text[i] != kShape[i]) return std::nullopt;
    }
    const auto number = [&](std::size_t from, std::size_t count) {
        int value = 0;
        for (std::size_t i = from; i < from + count; ++i) value = value * 10 + (text[i] - '0');
        return value;
    };
    const year_month_day date{year{number(0, 4)}, month{static_cast<unsigned>(number(5, 2))},
                              day{static_cast<unsigned>(number(8, 2))}};
    const int hour = number(11, 2), minute = number(14, 2), second = number(17, 2);
    if (!date.ok() || hour > 23 || minute > 59 || second > 59) return std::nullopt;
    return local_days{date} + hours{hour} + minutes{minute} + seconds{second} +
           milliseconds{text.size() == 23 ? number(20, 3) : 0};
}

}  // namespace hearwood
