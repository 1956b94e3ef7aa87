#include "store/schema.h"

#include <fmt/core.h>

#include <array>
#include <fstream>
#include <set>

#include "base/error.h"
#include "base/text.h"

namespace hearwood {

namespace {

/// "Hear" as a 32-bit number: stands in the file header, so that other programs can tell what it
/// is.
constexpr int kApplicationId = 0x48656172;

/// SQLite's own limit, less the columns that every segment has.
constexpr std::size_t kMostValueColumns = 1990;

constexpr const char* kTables = R"sql(
CREATE TABLE notes (
    key TEXT PRIMARY KEY,
    value TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE settings (
    hash TEXT PRIMARY KEY,
    measuring_version INTEGER NOT NULL,
    json TEXT NOT NULL
) WITHOUT ROWID;
CREATE TABLE recordings (
    id INTEGER PRIMARY KEY,
    deployment TEXT NOT NULL,
    path TEXT NOT NULL UNIQUE,
    size INTEGER NOT NULL,
    mtime_ns INTEGER NOT NULL,
    start_wall TEXT,
    start_offset_s INTEGER,
    start_source TEXT NOT NULL DEFAULT '',
    start_pattern TEXT NOT NULL DEFAULT '',
    start_order_ms INTEGER,
    sample_rate INTEGER NOT NULL DEFAULT 0,
    channels INTEGER NOT NULL DEFAULT 0,
    bits INTEGER NOT NULL DEFAULT 0,
    format TEXT NOT NULL DEFAULT '',
    frames INTEGER NOT NULL DEFAULT 0,
    lost_s REAL NOT NULL DEFAULT 0,
    spoilt_segments INTEGER NOT NULL DEFAULT 0,
    serial TEXT NOT NULL DEFAULT '',
    state TEXT NOT NULL,
    reason TEXT NOT NULL DEFAULT '',
    settings TEXT REFERENCES settings(hash),
    gone INTEGER NOT NULL DEFAULT 0,
    sha256 TEXT,
    proved INTEGER NOT NULL DEFAULT 0,
    card_path TEXT NOT NULL DEFAULT ''
);
CREATE INDEX recordings_in_order ON recordings (deployment, start_order_ms, path);
CREATE INDEX recordings_by_sha256 ON recordings (sha256) WHERE sha256 IS NOT NULL;
CREATE TABLE spectra (
    segment_id INTEGER PRIMARY KEY REFERENCES segments(id),
    kept BLOB NOT NULL
);
)sql";

/// What later versions added, step by step: kUpgrades[i] makes version i + 2 of version i + 1. A
/// new file takes all of them.
constexpr std::array kUpgrades = {
    R"sql(
CREATE TABLE results (
    name TEXT PRIMARY KEY,
    fingerprint TEXT NOT NULL,
    json TEXT NOT NULL
) WITHOUT ROWID;
)sql",
    R"sql(
CREATE TABLE sounds (
    segment_id INTEGER PRIMARY KEY REFERENCES segments(id),
    kept BLOB NOT NULL
);
CREATE TABLE even (
    segment_id INTEGER PRIMARY KEY REFERENCES segments(id),
    terms INTEGER NOT NULL,
    aci REAL,
    ndsi REAL,
    bi REAL,
    standout REAL,
    events REAL
);
)sql",
    "",  // no table is another; what sounds.kept holds may be of its second form (measures.md)
};
static_assert(kUpgrades.size() + 1 == kSchemaVersion);

int number_of(const Database& database, const char* pragma) {
    return static_cast<int>(parse_integer(database.one(pragma).value_or("0")).value_or(0));
}

/// An older file gets the tables that came since; nothing of it is lost.
void upgrade(Database& database, int version) {
    if (version == kSchemaVersion) return;
    database.run("BEGIN IMMEDIATE");
    for (std::size_t i = static_cast<std::size_t>(version) - 1; i < kUpgrades.size(); ++i)
        database.run(kUpgrades[i]);
    database.run(fmt::format("PRAGMA user_version = {}", kSchemaVersion));
    database.run("COMMIT");
}

}  // namespace

std::string quoted(const std::string& name) {
    std::string text = "\"";
    for (const char c : name) text.append(c == '"' ? 2 : 1, c);
    return text + '"';
}

void require_schema(Database& database, bool may_write) {
    const std::string shown = printable(database.path().string());
    const auto refuse = [&shown] {
        throw InputError(
            shown + ": is not a database of hearwood, and was left as it is",
            "hearwood keeps its results under this name: find out whose file it is, or "
            "use another survey folder");
    };
    try {
        const int application = number_of(database, "PRAGMA application_id");
        const int version = number_of(database, "PRAGMA user_version");
        if (application == kApplicationId && version > kSchemaVersion)
            throw InputError(
                fmt::format("{}: its tables are of version {}, this program knows version {}",
                            shown, version, kSchemaVersion),
                "use the newer hearwood that wrote it");
        if (application == kApplicationId && version != 0) {
            if (may_write) upgrade(database, version);
            return;
        }
        if (!database.one("SELECT name FROM sqlite_schema LIMIT 1"))
            throw InputError(shown + ": nothing has been measured yet",
                             "run 'hearwood measure' first");
    } catch (const NotADatabase&) {
        refuse();
    }
    refuse();
}

bool has_our_mark(const std::filesystem::path& file) {
    constexpr std::streamoff kMark =
        68;  // sqlite.org/fileformat2.html, 1.3: four bytes, the largest first
    std::ifstream in(file, std::ios::binary);
    std::array<char, 4> bytes{};
    if (!in.seekg(kMark) || !in.read(bytes.data(), bytes.size())) return false;
    int mark = 0;
    for (const char byte : bytes) mark = mark * 256 + static_cast<unsigned char>(byte);
    return mark == kApplicationId;
}

void create_schema(Database& database) {
    database.run("BEGIN IMMEDIATE");
    database.run(kTables);
    for (const char* step : kUpgrades) database.run(step);
    database.run(fmt::format("PRAGMA application_id = {}", kApplicationId));
    database.run(fmt::format("PRAGMA user_version = {}", kSchemaVersion));
    create_segments(database, {});
    database.run("COMMIT");
}

void create_segments(Database& database, std::span<const std::string> columns) {
    if (columns.size() > kMostValueColumns)
        throw InputError(fmt::format("{} columns are too many for the database; it holds {}",
                                     columns.size(), kMostValueColumns),
                         "name fewer bands in survey.toml");
    std::set<std::string> seen;
    std::string sql =
        "CREATE TABLE segments (id INTEGER PRIMARY KEY, "
        "recording INTEGER NOT NULL REFERENCES recordings(id), channel INTEGER NOT NULL, "
        "segment INTEGER NOT NULL, first_sample INTEGER NOT NULL, samples INTEGER NOT NULL, "
        "complete INTEGER NOT NULL";
    for (const std::string& column : columns) {
        // SQL does not tell capitals from small letters in names.
        if (!seen.insert(to_lower_ascii(column)).second)
            throw InputError(
                "two columns of the results would both be called '" + printable(column) + "'",
                "give the bands in survey.toml names that differ in more than capitals");
        sql += ", " + quoted(column) + " REAL";
    }
    database.run(sql + ")");
}

std::vector<std::string> segment_columns(const Database& database) {
    std::vector<std::string> columns;
    Statement statement(database, "SELECT name FROM pragma_table_info('segments') ORDER BY cid");
    for (int i = 0; statement.step(); ++i)
        if (i >= kSegmentKeyColumns) columns.push_back(statement.text(0));
    return columns;
}

}  // namespace hearwood
