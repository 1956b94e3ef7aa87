#include "audio/name_pattern.h"

#include "base/error.h"

namespace hearwood {
namespace {

[[noreturn]] void refuse(const std::string& text, const std::string& what, const std::string& fix) {
    Problem problem;
    problem.file = "survey.toml";
    problem.field = "[names].start_time";
    problem.value = text;
    problem.what = what;
    problem.fix = fix;
    throw InputError({problem});
}

}  // namespace

struct NamePattern::Reading {
    StampParts parts;
    std::optional<std::chrono::minutes> offset;
    std::optional<std::size_t> begin;
};

NamePattern::NamePattern(const std::string& text) : parts_(1) {
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '*') {
            parts_.emplace_back();
        } else if (text[i] != '%') {
            parts_.back().push_back({'\0', text[i]});
        } else if (++i < text.size() && text[i] == '%') {
            parts_.back().push_back({'\0', '%'});
        } else {
            add_field(i < text.size() ? text[i] : '\0', text);
        }
    }
    check_complete(text);
}

void NamePattern::add_field(char field, const std::string& text) {
    constexpr std::string_view known = "YymdjHMSz";
    if (field == '\0') refuse(text, "ends in a single %", "write %% for a percent sign");
    if (known.find(field) == std::string_view::npos)
        refuse(text, std::string("%") + field + " is not known here",
               "use %Y %y %m %d %j %H %M %S %z, or %% for a percent sign");
    if (fields_.find(field) != std::string::npos)
        refuse(text, std::string("%") + field + " stands twice",
               "leave one of them out, with * in its place");
    fields_ += field;
    parts_.back().push_back({field, '\0'});
}

void NamePattern::check_complete(const std::string& text) const {
    const auto has = [this](char field) { return fields_.find(field) != std::string::npos; };
    if (has('Y') == has('y')) refuse(text, "needs one year", "use %Y (four digits) or %y (two)");
    if (has('j') ? has('m') || has('d') : !has('m') || !has('d'))
        refuse(text, "needs one day", "use %m with %d, or %j (day of the year)");
    if (!has('H')) refuse(text, "needs an hour", "add %H (00 to 23)");
    if (has('S') && !has('M')) refuse(text, "has seconds but no minutes", "add %M");
}

bool NamePattern::read(const Part& part, TextCursor& cursor, Reading& reading) {
    for (const Token& token : part) {
        if (token.field == '\0') {
            if (!cursor.literal(token.literal)) return false;
            continue;
        }
        if (!reading.begin) reading.begin = cursor.at();
        if (token.field == 'z') {
            reading.offset = cursor.utc_offset();
            if (!reading.offset) return false;
            continue;
        }
        const int width = token.field == 'Y' ? 4 : token.field == 'j' ? 3 : 2;
        const auto value = cursor.digits(width);
        if (!value) return false;
        StampParts& parts = reading.parts;
        switch (token.field) {
            case 'Y':
                parts.year = *value;
                break;
            case 'y':
                parts.year = 2000 + *value;
                break;
            case 'm':
                parts.month = *value;
                break;
            case 'd':
                parts.day = *value;
                break;
            case 'j':
                parts.day_of_year = *value;
                break;
            case 'H':
                parts.hour = *value;
                break;
            case 'M':
                parts.minute = *value;
                break;
            default:
                parts.second = *value;
                break;
        }
    }
    return true;
}

std::optional<NamePattern::Match> NamePattern::match(std::string_view stem) const {
    Reading reading;
    std::size_t at = 0;
    for (std::size_t i = 0; i < parts_.size(); ++i) {
        const bool last = i + 1 == parts_.size();
        const std::size_t furthest =
            i == 0 ? at : stem.size();  // only behind a star may a part begin later
        bool found = false;
        for (std::size_t begin = at; begin <= furthest && !found; ++begin) {
            TextCursor cursor(stem, begin);
            Reading trial = reading;
            found = read(parts_[i], cursor, trial) && (!last || cursor.at_end());
            if (!found) continue;
            reading = trial;
            at = cursor.at();
        }
        if (!found) return std::nullopt;
    }
    const bool uses_day_of_year = fields_.find('j') != std::string::npos;
    if (uses_day_of_year && reading.parts.day_of_year == 0) return std::nullopt;
    const auto wall = local_time_of(reading.parts);
    if (!wall) return std::nullopt;
    return Match{{*wall, reading.offset}, reading.begin.value_or(0)};
}

}  // namespace hearwood
