// Zones: from a wall clock to a point of time and back.
#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "base/wall_time.h"

namespace hearwood {

/// A time zone: an IANA zone from the system's data, "UTC", or a fixed offset such as "+08:00".
/// Small and cheap to copy; its table of changes is made once and never altered, so that any number
/// of threads may use it. The table runs from 1900 to 2200 as far as the system's data go; behind
/// their end (2037 for rules that go on) the last offset holds.
class Zone {
  public:
    /// UTC.
    Zone();
    /// Nothing when the name is none of the three kinds. Offsets: "+08:00", "-03:30", "+0800",
    /// "+08".
    static std::optional<Zone> find(std::string_view name);
    /// As find. Errors: InputError that names the nearest zone.
    static Zone named(std::string_view name);
    static Zone fixed(std::chrono::seconds offset);

    const std::string& name() const { return name_; }

    /// What a wall-clock time is in this zone.
    enum class Fit {
        unique,
        ambiguous,    ///< the clock showed it twice (end of daylight saving)
        nonexistent,  ///< the clock jumped over it (start of daylight saving)
    };
    Fit fit(LocalTime time) const;

    /// An ambiguous time is taken for the earlier of the two. A nonexistent one is read with the
    /// offset that held before the jump, which moves it on by the width of the gap: 02:30 becomes
    /// 03:30.
    Instant to_utc(LocalTime time) const;

    struct Local {
        LocalTime time;
        std::chrono::seconds offset{0};  ///< local minus UTC
    };
    Local to_local(Instant instant) const;

  private:
    struct Table;
    static std::shared_ptr<const Table> built_in_table(std::string_view name);
    Zone(std::string name, std::shared_ptr<const Table> table);

    std::string name_;
    std::shared_ptr<const Table> table_;
};

/// What to do about a zone that find() does not know: names the nearest one.
std::string zone_fix(std::string_view name);

/// "2031-05-04T05:40:00+08:00"; milliseconds only where they are not zero; 'Z' when the zone is
/// UTC.
std::string format_iso(Instant instant, const Zone& zone);
/// "+08:00", "-0330", "+08", "Z"; within 18 hours.
std::optional<std::chrono::seconds> parse_offset(std::string_view text);

}  // namespace hearwood
