// The tables of survey.db as SQL; docs/database.md describes them for other programs.
#pragma once

#include <cstdint>
#include <filesystem>
#include <span>
#include <string>
#include <vector>

#include "store/sqlite.h"

namespace hearwood {

/// Stands in the file as user_version; raised when tables or columns change.
inline constexpr int kSchemaVersion = 4;

/// Fixed columns of the table segments, before those of the values.
inline constexpr int kSegmentKeyColumns = 7;

// A segment's id is made of its place: recording * 2^32 + channel * 2^22 + segment. So ids sort as
// tables do, one range of ids is one recording, and no index beside the table has to be kept.
inline constexpr std::int64_t kMostSegments = std::int64_t{1} << 22;
inline constexpr std::int64_t kMostChannels = std::int64_t{1} << 10;
constexpr std::int64_t segment_id(std::int64_t recording, std::int64_t channel,
                                  std::int64_t segment) {
    return (recording << 32) + (channel << 22) + segment;
}

/// Makes the tables in an empty file.
void create_schema(Database& database);
/// Whether the file's first page says that it is one of ours; it is not opened as a database.
bool has_our_mark(const std::filesystem::path& file);
/// Checks that the file is one of ours and not newer than this program. An older file is brought up
/// to date when it may be written to; else it is read as it is, and tables that it lacks count as
/// empty. Errors: InputError.
void require_schema(Database& database, bool may_write);

/// Makes an empty table of segments with one REAL column for each name.
void create_segments(Database& database, std::span<const std::string> columns);

/// "name" with quotes, as SQL wants an identifier.
std::string quoted(const std::string& name);

/// The value columns of the table segments, in order; empty when there is no such table yet.
std::vector<std::string> segment_columns(const Database& database);

}  // namespace hearwood
