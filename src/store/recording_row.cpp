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

}  // namespace hearwood
