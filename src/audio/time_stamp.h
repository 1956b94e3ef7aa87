// Dates and times in text: the digits, and whether such a date exists.
#pragma once

#include <chrono>
#include <cstddef>
#include <optional>
#include <string_view>

#include "base/wall_time.h"

namespace hearwood {

/// Reads forward through a text; a read that does not fit gives nothing and stays where it is.
class TextCursor {
  public:
    TextCursor(std::string_view text, std::size_t at) : text_(text), at_(at) {}

    std::size_t at() const { return at_; }
    bool at_end() const { return at_ >= text_.size(); }
    bool at_digit() const { return !at_end() && is_digit(text_[at_]); }
    static bool is_digit(char c) { return c >= '0' && c <= '9'; }

    /// Exactly `count` digits.
    std::optional<int> digits(int count);
    bool literal(char wanted);
    bool one_of(std::string_view wanted);
    /// "Z", "+08", "+0800", "+08:00", "-0330": the longest that is an offset (at most 14 hours,
    /// whole quarters) and that no letter or digit follows.
    std::optional<std::chrono::minutes> utc_offset();

  private:
    std::string_view text_;
    std::size_t at_;
};

/// The parts of a date and time as they were read; month and day, or the day of the year.
struct StampParts {
    int year = 0, month = 0, day = 0, day_of_year = 0;
    int hour = 0, minute = 0, second = 0, millisecond = 0;
};

/// Nothing for a date or time that does not exist, or a year before 1970 or after 2099. A leap
/// second (60) is taken for 59.
std::optional<LocalTime> local_time_of(const StampParts& parts);

/// A date and a time that stand in a name from `at` on: YYYYMMDD_HHMMSS or YYYY-MM-DD_HH-MM-SS,
/// perhaps with an offset; docs/recordings.md says what may separate them.
struct NameStamp {
    LocalTime wall;
    std::optional<std::chrono::minutes> utc_offset;
};
std::optional<NameStamp> stamp_at(std::string_view name, std::size_t at);

/// ISO 8601, "2026-03-14T05:30:00.5+08:00": the whole text; the fraction and the offset may be
/// missing.
std::optional<NameStamp> parse_iso8601(std::string_view text);

}  // namespace hearwood
