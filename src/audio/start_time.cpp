#include "audio/start_time.h"

#include "audio/inventory.h"
#include "audio/name_pattern.h"
#include "audio/time_stamp.h"

namespace hearwood {
namespace {

std::string_view without_folders(std::string_view path) {
    const std::size_t slash = path.rfind('/');
    return slash == std::string_view::npos ? path : path.substr(slash + 1);
}

std::string_view without_ending(std::string_view name) {
    const std::size_t dot = name.rfind('.');
    return dot == std::string_view::npos || dot == 0 ? name : name.substr(0, dot);
}

/// The first stamp in a name and where it stands.
std::optional<NamePattern::Match> find_stamp(std::string_view name) {
    for (std::size_t at = 0; at < name.size(); ++at)
        if (TextCursor::is_digit(name[at]))
            if (const auto stamp = stamp_at(name, at)) return NamePattern::Match{*stamp, at};
    return std::nullopt;
}

}  // namespace

const char* name_of(StartSource source) {
    switch (source) {
        case StartSource::name:
            return "name";
        case StartSource::bext:
            return "bext";
        case StartSource::guano:
            return "guano";
    }
    return "";
}

StartTimeReader::StartTimeReader(const std::string& pattern) {
    if (pattern.empty()) return;
    // A pattern written with the ending means the same as one without.
    const bool with_ending = has_audio_ending(pattern) && pattern.find('/') == std::string::npos;
    own_ =
        std::make_unique<NamePattern>(with_ending ? std::string(without_ending(pattern)) : pattern);
}
StartTimeReader::~StartTimeReader() = default;

std::optional<RecordedStart> StartTimeReader::from_name(std::string_view name) const {
    const std::string_view stem = without_ending(without_folders(name));
    const auto match = own_ ? own_->match(stem) : find_stamp(stem);
    if (!match) return std::nullopt;
    return RecordedStart{match->stamp.wall, match->stamp.utc_offset, StartSource::name};
}

std::optional<RecordedStart> StartTimeReader::start_of(std::string_view name,
                                                       const Metadata& metadata) const {
    if (const auto start = from_name(name)) return start;
    if (metadata.bext)
        if (const auto start = start_from_bext(*metadata.bext)) return start;
    return start_from_guano(metadata.guano);
}

std::string StartTimeReader::prefix_of(std::string_view name) const {
    const std::string_view stem = without_ending(without_folders(name));
    const auto match = own_ ? own_->match(stem) : find_stamp(stem);
    return match ? std::string(stem.substr(0, match->begin)) : std::string();
}

std::optional<RecordedStart> start_from_bext(const BroadcastText& bext) {
    constexpr std::string_view separators = "-_: .";
    StampParts parts;
    TextCursor date(bext.origination_date, 0), time(bext.origination_time, 0);
    const auto field = [](TextCursor& cursor, int& into, int count) {
        const auto value = cursor.digits(count);
        into = value.value_or(0);
        return value.has_value();
    };
    const bool whole = field(date, parts.year, 4) && date.one_of(separators) &&
                       field(date, parts.month, 2) && date.one_of(separators) &&
                       field(date, parts.day, 2) && field(time, parts.hour, 2) &&
                       time.one_of(separators) && field(time, parts.minute, 2) &&
                       time.one_of(separators) && field(time, parts.second, 2);
    const auto wall = whole ? local_time_of(parts) : std::nullopt;
    if (!wall) return std::nullopt;
    return RecordedStart{*wall, std::nullopt, StartSource::bext};
}

std::optional<RecordedStart> start_from_guano(std::string_view guano) {
    const auto text = guano_value(guano, "Timestamp");
    const auto stamp = text ? parse_iso8601(*text) : std::nullopt;
    if (!stamp) return std::nullopt;
    return RecordedStart{stamp->wall, stamp->utc_offset, StartSource::guano};
}

}  // namespace hearwood
