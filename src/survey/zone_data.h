// Zone data of the program's own, for machines that have none or older ones: the system's folder of
// zone files as one tar archive, compiled in where the build gives one (HEARWOOD_ZONES_TAR).
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace hearwood {

/// From `since` on local time is UTC + offset.
struct OffsetChange {
    std::chrono::seconds since;
    std::chrono::seconds offset;
    bool operator==(const OffsetChange&) const = default;
};

/// The changes of a zone file (TZif of version 2 or later, RFC 8536) from `from` to `to`, in order
/// of time; the first is at `from` itself. Rules for the time behind the last change are not read,
/// as nowhere in this program. Nothing for other bytes.
std::optional<std::vector<OffsetChange>> read_zone_file(std::string_view bytes,
                                                        std::chrono::seconds from,
                                                        std::chrono::seconds to);

/// A regular file of a ustar archive, links in it followed; nothing where there is none.
std::optional<std::string_view> file_in_tar(std::string_view tar, std::string_view name);
std::vector<std::string> names_in_tar(std::string_view tar);

/// The archive; empty in a build without one.
std::string_view built_in_zones();

/// Whether zones are read from it: the system has no zone data, or older ones.
bool built_in_zones_hold();

/// "2031a", "2031a, built in", or "of unknown version".
std::string zone_data_version();

}  // namespace hearwood
