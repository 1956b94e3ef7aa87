#include "audio/time_stamp.h"

#include <cctype>

namespace hearwood {

std::optional<int> TextCursor::digits(int count) {
    if (text_.size() - at_ < static_cast<std::size_t>(count)) return std::nullopt;
    int value = 0;
    for (int i = 0; i < count; ++i) {
        const char c = text_[at_ + i];
        if (!is_digit(c)) return std::nullopt;
        value = value * 10 + (c - '0');
    }
    at_ += count;
    return value;
}

bool TextCursor::literal(char wanted) {
    if (at_end() || text_[at_] != wanted) return false;
    ++at_;
    return true;
}

bool TextCursor::one_of(std::string_view wanted) {
    if (at_end() || wanted.find(text_[at_]) == std::string_view::npos) return false;
    ++at_;
    return true;
}

std::optional<std::chrono::minutes> TextCursor::utc_offset() {
    const std::size_t begin = at_;
    const auto ends_here = [this] {
        return at_end() || !std::isalnum(static_cast<unsigned char>(text_[at_]));
    };
    if (literal('Z')) {
        if (ends_here()) return std::chrono::minutes(0);
    } else if (one_of("+-")) {
        const int sign = text_[begin] == '-' ? -1 : 1;
        if (const auto hours = digits(2)) {
            const std::size_t after_hours = at_;
            literal(':');
            const auto minutes = digits(2);
            if (!minutes) at_ = after_hours;
            const int total = *hours * 60 + minutes.value_or(0);
            if (minutes.value_or(0) < 60 && total % 15 == 0 && total <= 14 * 60 && ends_here())
                return std::chrono::minutes(sign * total);
        }
    }
    at_ = begin;
    return std::nullopt;
}

std::optional<LocalTime> local_time_of(const StampParts& parts) {
    using namespace std::chrono;
    if (parts.year < 1970 || parts.year > 2099) return std::nullopt;
    if (parts.hour > 23 || parts.minute > 59 || parts.second > 60) return std::nullopt;
    const year y{parts.year};
    local_days date;
    if (parts.day_of_year > 0) {
        if (parts.day_of_year > (y.is_leap() ? 366 : 365)) return std::nullopt;
        date = local_days{y / January / 1} + days{parts.day_of_year - 1};
    } else {
        const year_month_day day{y, month{static_cast<unsigned>(parts.month)},
                                 std::chrono::day{static_cast<unsigned>(parts.day)}};
        if (!day.ok()) return std::nullopt;
        date = local_days{day};
    }
    const int second = parts.second == 60 ? 59 : parts.second;
    return LocalTime{date + hours{parts.hour} + minutes{parts.minute} + seconds{second} +
                     milliseconds{parts.millisecond}};
}

namespace {

/// Date and time with these separators between their parts ('\0': none) and one of `between` in the
/// middle.
std::optional<StampParts> read_stamp(TextCursor& cursor, char in_date, std::string_view in_time,
                                     std::string_view between) {
    StampParts parts;
    const auto field = [&cursor](int& into, int count) {
        const auto value = cursor.digits(count);
        if (value) into = *value;
        return value.has_value();
    };
    const auto date_mark = [&] { return in_date == '\0' || cursor.literal(in_date); };
    const auto time_mark = [&] { return in_time.empty() || cursor.one_of(in_time); };
    const bool whole = field(parts.year, 4) && date_mark() && field(parts.month, 2) &&
                       date_mark() && field(parts.day, 2) && cursor.one_of(between) &&
                       field(parts.hour, 2) && time_mark() && field(parts.minute, 2) &&
                       time_mark() && field(parts.second, 2);
    if (!whole) return std::nullopt;
    return parts;
}

}  // namespace

std::optional<NameStamp> stamp_at(std::string_view name, std::size_t at) {
    if (at > 0 && TextCursor::is_digit(name[at - 1])) return std::nullopt;
    TextCursor cursor(name, at);
    auto parts = read_stamp(cursor, '\0', "", "_T-");
    if (!parts) {
        cursor = TextCursor(name, at);
        parts = read_stamp(cursor, '-', "-:", "_T ");
    }
    if (!parts || cursor.at_digit()) return std::nullopt;
    const auto wall = local_time_of(*parts);
    if (!wall) return std::nullopt;
    return NameStamp{*wall, cursor.utc_offset()};
}

std::optional<NameStamp> parse_iso8601(std::string_view text) {
    TextCursor cursor(text, 0);
    auto parts = read_stamp(cursor, '-', ":", "T ");
    if (!parts) return std::nullopt;
    if (cursor.one_of(".,")) {
        int scale = 100;
        if (!cursor.at_digit()) return std::nullopt;
        while (const auto digit = cursor.digits(1)) {
            parts->millisecond += *digit * scale;
            scale /= 10;
        }
    }
    const auto wall = local_time_of(*parts);
    if (!wall) return std::nullopt;
    const auto offset = cursor.utc_offset();
    if (!cursor.at_end()) return std::nullopt;
    return NameStamp{*wall, offset};
}

}  // namespace hearwood
