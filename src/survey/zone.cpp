#include "survey/zone.h"

#include <date/tz.h>
#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <mutex>
#include <stdexcept>
#include <utility>
#include <vector>

#include "base/error.h"
#include "base/text.h"
#include "survey/zone_data.h"

namespace hearwood {

namespace {

using std::chrono::milliseconds;
using std::chrono::seconds;

/// No offset of any zone, past or present, is larger.
constexpr seconds kLargestOffset = std::chrono::hours(18);

/// The first instant of the table, 1900-01-01, and the last, 2200-01-01: no recorder was before or
/// will be after.
constexpr seconds kFirst{-2'208'988'800};
constexpr seconds kLast{7'258'118'400};

/// Names in the folder of zone data that are not zones: copies of the data with leap seconds,
/// defaults of the machine.
bool is_zone_name(std::string_view name) {
    return !name.starts_with("right/") && !name.starts_with("posix/") && name != "localtime" &&
           name != "posixrules" && name != "Factory";
}

/// "+08:00"; seconds only where there are some: before zones were made, offsets were local mean
/// time.
std::string offset_name(seconds offset) {
    const auto s = std::abs(offset.count());
    std::string text =
        fmt::format("{}{:02}:{:02}", offset.count() < 0 ? '-' : '+', s / 3600, s / 60 % 60);
    if (s % 60 != 0) text += fmt::format(":{:02}", s % 60);
    return text;
}

}  // namespace

/// From `since` on, until the next entry, local time is UTC + offset.
struct Zone::Table {
    struct Change {
        milliseconds since;
        seconds offset;
    };
    std::vector<Change>
        changes;  // in order of time, never empty; the first holds for all time before, too

    std::size_t at(milliseconds utc) const {
        const auto after = std::upper_bound(
            changes.begin() + 1, changes.end(), utc,
            [](milliseconds time, const Change& change) { return time < change.since; });
        return static_cast<std::size_t>(after - changes.begin()) - 1;
    }

    /// What to_utc and fit both need: how many instants have this wall-clock time, and the one that
    /// is chosen.
    struct Reading {
        int count = 0;
        milliseconds utc{0};
    };
    Reading read(milliseconds local) const {
        const std::size_t first = at(local - kLargestOffset), last = at(local + kLargestOffset);
        Reading reading;
        for (std::size_t i = first; i <= last; ++i) {
            const milliseconds utc = local - changes[i].offset;
            const bool begun = i == 0 || utc >= changes[i].since;
            const bool ended = i + 1 < changes.size() && utc >= changes[i + 1].since;
            if (begun && !ended && reading.count++ == 0) reading.utc = utc;
        }
        if (reading.count > 0) return reading;
        // In a gap: the offset that held before the jump carries the time past it.
        for (std::size_t i = first + 1; i <= last; ++i)
            if (local >= changes[i].since + changes[i - 1].offset &&
                local < changes[i].since + changes[i].offset)
                reading.utc = local - changes[i - 1].offset;
        return reading;
    }
};

Zone::Zone(std::string name, std::shared_ptr<const Table> table)
    : name_(std::move(name)), table_(std::move(table)) {}

Zone::Zone() : Zone(fixed(seconds{0})) {
    name_ = "UTC";
}

Zone Zone::fixed(seconds offset) {
    auto table = std::make_shared<Table>();
    table->changes.push_back({kFirst, offset});
    return Zone(offset_name(offset), std::move(table));
}

std::shared_ptr<const Zone::Table> Zone::built_in_table(std::string_view name) {
    const auto file = file_in_tar(built_in_zones(), name);
    const auto changes = file ? read_zone_file(*file, kFirst, kLast) : std::nullopt;
    if (!changes) return nullptr;
    auto table = std::make_shared<Table>();
    for (const OffsetChange& change : *changes)
        table->changes.push_back({change.since, change.offset});
    return table;
}

std::optional<Zone> Zone::find(std::string_view name) {
    if (name == "UTC" || name == "Z") return Zone();
    if (const auto offset = parse_offset(name)) return fixed(*offset);
    if (!is_zone_name(name)) return {};
    if (built_in_zones_hold()) {
        auto table = built_in_table(name);
        return table ? std::optional(Zone(std::string(name), std::move(table))) : std::nullopt;
    }
    // The library's list of zones is made on first use; one thread at a time may do that.
    static std::mutex mutex;
    const std::lock_guard lock(mutex);
    try {
        const date::time_zone* zone = date::locate_zone(name);
        auto table = std::make_shared<Table>();
        for (date::sys_seconds time{kFirst}; time.time_since_epoch() < kLast;) {
            const date::sys_info info = zone->get_info(time);
            if (table->changes.empty() || table->changes.back().offset != info.offset)
                table->changes.push_back({time.time_since_epoch(), info.offset});
            if (info.end <= time) break;
            time = info.end;
        }
        return Zone(std::string(name), std::move(table));
    } catch (const std::runtime_error&) {
        return {};
    }
}

Zone Zone::named(std::string_view name) {
    if (auto zone = find(name)) return *zone;
    throw InputError("'" + std::string(name) + "' is no time zone that this machine knows",
                     zone_fix(name));
}

std::string zone_fix(std::string_view name) {
    std::vector<std::string> names;
    try {
        if (built_in_zones_hold())
            for (std::string& zone : names_in_tar(built_in_zones()))
                if (zone.find('.') == std::string::npos && is_zone_name(zone))
                    names.push_back(std::move(zone));
        if (names.empty())
            for (const date::time_zone& zone : date::get_tzdb().zones)
                if (is_zone_name(zone.name())) names.push_back(zone.name());
    } catch (const std::runtime_error&) {
        return "the machine's zone data are missing: install the package tzdata, or write an "
               "offset such as "
               "+08:00";
    }
    if (const auto near = nearest(name, names)) return "did you mean '" + *near + "'?";
    return "write an IANA name such as Asia/Kuching, UTC, or an offset such as +08:00";
}

Zone::Fit Zone::fit(LocalTime time) const {
    const int count = table_->read(time.time_since_epoch()).count;
    return count == 0 ? Fit::nonexistent : count == 1 ? Fit::unique : Fit::ambiguous;
}

Instant Zone::to_utc(LocalTime time) const {
    return Instant{table_->read(time.time_since_epoch()).utc};
}

Zone::Local Zone::to_local(Instant instant) const {
    const seconds offset = table_->changes[table_->at(instant.time_since_epoch())].offset;
    return {LocalTime{instant.time_since_epoch() + offset}, offset};
}

std::string format_iso(Instant instant, const Zone& zone) {
    const auto [time, offset] = zone.to_local(instant);
    return format_local(time) + (zone.name() == "UTC" ? "Z" : offset_name(offset));
}

std::optional<seconds> parse_offset(std::string_view text) {
    if (text == "Z") return seconds(0);
    if (text.empty() || (text[0] != '+' && text[0] != '-')) return {};
    std::string digits(text.substr(1));
    if (digits.size() == 5 && digits[2] == ':') digits.erase(2, 1);
    if (digits.size() == 2) digits += "00";
    const bool four = digits.size() == 4 && std::all_of(digits.begin(), digits.end(), [](char c) {
                          return c >= '0' && c <= '9';
                      });
    if (!four) return {};
    const auto number = parse_integer(digits).value();  // hours and minutes side by side
    const seconds offset = std::chrono::hours(number / 100) + std::chrono::minutes(number % 100);
    if (number % 100 > 59 || offset > kLargestOffset) return {};
    return text[0] == '-' ? -offset : offset;
}

}  // namespace hearwood
