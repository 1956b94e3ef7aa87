#include "base/wall_time.h"

#include <fmt/format.h>

#include <cctype>

#include "base/text.h"

namespace hearwood {

namespace {

using namespace std::chrono;

/// Takes exactly `digits` digits off the front.
std::optional<int> take_number(std::string_view& text, std::size_t digits) {
    if (text.size() < digits) return {};
    int value = 0;
    for (std::size_t i = 0; i < digits; ++i) {
        if (text[i] < '0' || text[i] > '9') return {};
        value = value * 10 + (text[i] - '0');
    }
    text.remove_prefix(digits);
    return value;
}

bool take(std::string_view& text, char expected) {
    if (text.empty() || text.front() != expected) return false;
    text.remove_prefix(1);
    return true;
}

std::optional<local_days> take_date(std::string_view& text) {
    const auto y = take_number(text, 4);
    if (!y || !take(text, '-')) return {};
    const auto m = take_number(text, 2);
    if (!m || !take(text, '-')) return {};
    const auto d = take_number(text, 2);
    if (!d || *y < 1900 || *y > 2199) return {};
    const year_month_day date{year(*y), month(static_cast<unsigned>(*m)),
                              day(static_cast<unsigned>(*d))};
    if (!date.ok()) return {};
    return local_days(date);
}

/// ".5", ".250": one to three digits.
std::optional<milliseconds> take_fraction(std::string_view& text) {
    if (!take(text, '.')) return milliseconds(0);
    int value = 0, scale = 1000;
    while (!text.empty() && std::isdigit(static_cast<unsigned char>(text.front())) && scale > 1) {
        scale /= 10;
        value += (text.front() - '0') * scale;
        text.remove_prefix(1);
    }
    if (scale == 1000) return {};
    return milliseconds(value);
}

std::optional<milliseconds> take_time_of_day(std::string_view& text) {
    // "9:00" is what people write and spreadsheets show.
    const auto h = take_number(text, text.size() > 1 && text[1] == ':' ? 1 : 2);
    if (!h || !take(text, ':')) return {};
    const auto m = take_number(text, 2);
    if (!m || *h > 23 || *m > 59) return {};
    milliseconds time = hours(*h) + minutes(*m);
    if (!take(text, ':')) return time;
    const auto s = take_number(text, 2);
    if (!s || *s > 59) return {};
    const auto fraction = take_fraction(text);
    if (!fraction) return {};
    return time + seconds(*s) + *fraction;
}

}  // namespace

std::string format_date(local_days date) {
    const year_month_day parts(date);
    return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(parts.year()),
                       static_cast<unsigned>(parts.month()), static_cast<unsigned>(parts.day()));
}

std::string format_clock(LocalTime time) {
    const auto minute = floor<minutes>(time - floor<days>(time)).count();
    return fmt::format("{:02}:{:02}", minute / 60, minute % 60);
}

std::string format_local(LocalTime time) {
    const auto date = floor<days>(time);
    const auto ms = (time - date).count();
    std::string text = fmt::format("{}T{:02}:{:02}:{:02}", format_date(date), ms / 3'600'000,
                                   ms / 60'000 % 60, ms / 1000 % 60);
    if (ms % 1000 != 0) text += fmt::format(".{:03}", ms % 1000);
    return text;
}

std::optional<LocalTime> parse_local_time(std::string_view text) {
    const std::string trimmed = trim(text);
    std::string_view rest = trimmed;
    const auto date = take_date(rest);
    if (!date || (!take(rest, 'T') && !take(rest, ' '))) return {};
    while (take(rest, ' ')) {
    }
    const auto time = take_time_of_day(rest);
    if (!time || !rest.empty()) return {};
    return LocalTime(*date) + *time;
}

std::optional<local_days> parse_date(std::string_view text) {
    const std::string trimmed = trim(text);
    std::string_view rest = trimmed;
    const auto date = take_date(rest);
    if (!date || !rest.empty()) return {};
    return date;
}

}  // namespace hearwood
