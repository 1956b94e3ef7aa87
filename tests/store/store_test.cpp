// The store: what goes in comes out, in the order of the tables, and other settings empty it.
#include "store/store.h"

#include <sqlite3.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <filesystem>

#include "base/error.h"
#include "base/file.h"
#include "base/missing.h"
#include "base/text.h"
#include "temporary_folder.h"

using namespace hearwood;
using hearwood::testing::TemporaryFolder;
namespace fs = std::filesystem;

namespace {

const StoredSettings kSettings{"hash-1", "{\"frame\":512}", 1, {"aci", "power_x_dbfs"}};
RecordingRow recording(const std::string& deployment, const std::string& path, const char* start) {
    RecordingRow row;
    row.deployment = deployment;
    row.path = path;
    row.size = 1000;
    row.mtime_ns = 42;
    if (start) row.start = parse_local_time(start);
    row.state = RecordingState::measured;
    row.settings = kSettings.hash;
    return row;
}

MeasuredSegment segment(int channel, int number, double aci, double power = kMissing) {
    MeasuredSegment result;
    result.row = {channel, number, number * 100, 100, true, {aci, power}};
    result.spectra = "bytes of " + std::to_string(number) + std::string(1, '\0') + "end";
    return result;
}

Store new_store(const fs::path& folder) {
    Store store = Store::open(folder);
    store.begin();
    store.replace_settings(kSettings);
    store.commit();
    return store;
}

std::vector<std::string> listing(const Store& store) {
    std::vector<std::string> lines;
    store.for_each_segment([&](const RecordingRow& r, const SegmentRow& s) {
        lines.push_back(r.path + " " + std::to_string(s.channel) + " " + std::to_string(s.segment) +
                        " " + format_number(s.values[0]) + " " + format_number(s.values[1]));
    });
    return lines;
}

}  // namespace

TEST_CASE("a recording's row comes back as it went in") {
    TemporaryFolder folder;
    RecordingRow row = recording("d'1", "recordings/a \\xff\".wav", "2024-03-01T05:00:00.250");
    row.start_offset_s = -3600;
    row.start_source = "file name";
    row.start_pattern = "%Y";
    row.sample_rate = 48000;
    row.channels = 2;
    row.bits = 16;
    row.format = "WAV";
    row.frames = 123456789012;
    row.lost_s = 0.125;
    row.spoilt_segments = 3;
    row.serial = "S1";
    row.reason = "because";
    row.gone = true;
    row.sha256 = "abc";
    row.proved = true;
    row.card_path = "DATA/a.wav";
    {
        Store store = new_store(folder.path());
        store.begin();
        row.id = store.put(row);
        store.commit();
    }
    const Store store = Store::open_read_only(folder.path());
    const auto back = store.find(row.path);
    REQUIRE(back);
    CHECK(back->id == row.id);
    CHECK(back->deployment == row.deployment);
    CHECK(back->size == row.size);
    CHECK(back->mtime_ns == row.mtime_ns);
    CHECK(back->start == row.start);
    CHECK(back->start_offset_s == row.start_offset_s);
    CHECK(back->start_source == row.start_source);
    CHECK(back->start_pattern == row.start_pattern);
    CHECK(back->sample_rate == row.sample_rate);
    CHECK(back->channels == row.channels);
    CHECK(back->bits == row.bits);
    CHECK(back->format == row.format);
    CHECK(back->frames == row.frames);
    CHECK(back->lost_s == row.lost_s);
    CHECK(back->spoilt_segments == row.spoilt_segments);
    CHECK(back->serial == row.serial);
    CHECK(back->state == row.state);
    CHECK(back->reason == row.reason);
    CHECK(back->settings == row.settings);
    CHECK(back->gone);
    CHECK(back->sha256 == row.sha256);
    CHECK(back->proved);
    CHECK(back->card_path == row.card_path);
    CHECK(store.find_sha256("abc")->path == row.path);
    CHECK_FALSE(store.find("elsewhere"));
}

TEST_CASE("putting a row again keeps its id and its results") {
    TemporaryFolder folder;
    Store store = new_store(folder.path());
    store.begin();
    RecordingRow row = recording("d", "a", "2024-03-01T05:00:00");
    const auto id = store.put(row);
    const std::vector<MeasuredSegment> rows{segment(0, 0, 1)};
    store.append(id, rows);
    row.reason = "changed";
    CHECK(store.put(row) == id);
    store.commit();
    CHECK(store.count_recordings() == 1);
    CHECK(store.count_segments_of(id) == 1);
    CHECK(store.find("a")->reason == "changed");
}

TEST_CASE("segments come by deployment, start, channel, segment, whatever the order of writing") {
    TemporaryFolder folder;
    Store store = new_store(folder.path());
    store.begin();
    const auto late = store.put(recording("d1", "late", "2024-03-01T06:00:00"));
    const auto other = store.put(recording("d0", "other", "2024-03-02T05:00:00"));
    const auto unknown = store.put(recording("d1", "a without start", nullptr));
    const auto early = store.put(recording("d1", "z early", "2024-03-01T05:00:00"));
    // By the wall this one is the last; by its stated offset it is the first of d1.
    RecordingRow east = recording("d1", "east", "2024-03-01T09:00:00");
    east.start_offset_s = 8 * 3600;
    const auto first = store.put(east);
    for (const auto id : {late, other, unknown, early, first}) {
        const std::vector<MeasuredSegment> rows{segment(1, 0, 3), segment(0, 1, 2, -20.5),
                                                segment(0, 0, 1)};
        store.append(id, rows);
    }
    store.commit();
    const auto lines = listing(store);
    REQUIRE(lines.size() == 15);
    CHECK(lines[0] == "other 0 0 1 ");
    CHECK(lines[1] == "other 0 1 2 -20.5");
    CHECK(lines[2] == "other 1 0 3 ");
    CHECK(lines[3] == "east 0 0 1 ");
    CHECK(lines[6] == "z early 0 0 1 ");
    CHECK(lines[9] == "late 0 0 1 ");
    CHECK(lines[12] == "a without start 0 0 1 ");
}

TEST_CASE("spectra are kept byte for byte, and results are deleted recording by recording") {
    TemporaryFolder folder;
    Store store = new_store(folder.path());
    store.begin();
    const auto a = store.put(recording("d", "a", "2024-03-01T06:00:00"));
    const auto b = store.put(recording("d", "b", "2024-03-01T07:00:00"));
    const std::vector<MeasuredSegment> rows{segment(0, 0, 1), segment(0, 7, 2), segment(3, 0, 3)};
    store.append(a, rows);
    store.append(b, rows);
    store.commit();
    CHECK(store.spectrum(a, 0, 7) == rows[1].spectra);
    CHECK(store.spectrum(a, 0, 6).empty());
    std::vector<std::string> seen;
    store.for_each_spectrum_of(b, [&](int channel, int number, std::string_view bytes) {
        seen.push_back(std::to_string(channel) + "/" + std::to_string(number) + std::string(bytes));
    });
    REQUIRE(seen.size() == 3);
    CHECK(seen[2] == "3/0" + rows[2].spectra);

    store.begin();
    store.delete_results(a);
    store.commit();
    CHECK(store.count_segments_of(a) == 0);
    CHECK(store.spectrum(a, 0, 7).empty());
    CHECK(store.count_segments_of(b) == 3);
    store.begin();
    store.forget(b);
    store.commit();
    CHECK_FALSE(store.find("b"));
    CHECK(store.count_segments() == 0);
    CHECK(store.integrity_problems().empty());
}

TEST_CASE("missing values are NULL for every client, never NaN or 0") {
    TemporaryFolder folder;
    Store store = new_store(folder.path());
    store.begin();
    const std::vector<MeasuredSegment> rows{segment(0, 0, kMissing, 0.0)};
    store.append(store.put(recording("d", "a", nullptr)), rows);
    store.commit();
    // Through SQLite itself, as any other client would read it.
    sqlite3* client = nullptr;
    REQUIRE(sqlite3_open_v2(Store::path_in(folder.path()).c_str(), &client, SQLITE_OPEN_READONLY,
                            nullptr) == SQLITE_OK);
    std::string types;
    sqlite3_exec(
        client, "SELECT typeof(aci) || ' ' || typeof(power_x_dbfs) FROM segments",
        [](void* out, int, char** cells, char**) {
            *static_cast<std::string*>(out) = cells[0];
            return 0;
        },
        &types, nullptr);
    sqlite3_close(client);
    CHECK(types == "null real");
}

TEST_CASE("other settings empty the store and leave what is known of the files") {
    TemporaryFolder folder;
    Store store = new_store(folder.path());
    store.begin();
    RecordingRow row = recording("d", "a", "2024-03-01T06:00:00");
    row.sha256 = "abc";
    const std::vector<MeasuredSegment> rows{segment(0, 0, 1)};
    store.append(store.put(row), rows);
    RecordingRow bad = recording("d", "b", nullptr);
    bad.state = RecordingState::unreadable;
    bad.reason = "not audio";
    bad.settings.clear();
    store.put(bad);
    store.replace_settings({"hash-2", "{}", 1, {"other"}});
    store.commit();
    CHECK(store.settings()->hash == "hash-2");
    CHECK(store.settings()->columns == std::vector<std::string>{"other"});
    CHECK(store.count_segments() == 0);
    CHECK(store.find("a")->state == RecordingState::pending);
    CHECK(store.find("a")->settings.empty());
    CHECK(store.find("a")->sha256 == "abc");
    CHECK(store.find("b")->state == RecordingState::unreadable);
    // The rows of the new settings have the new shape.
    store.begin();
    MeasuredSegment one;
    one.row = {0, 0, 0, 10, true, {5.0}};
    store.append(store.find("a")->id, std::vector<MeasuredSegment>{one});
    store.commit();
    CHECK(store.count_segments() == 1);
}

TEST_CASE("what is not committed is not there") {
    TemporaryFolder folder;
    {
        Store store = new_store(folder.path());
        store.begin();
        store.put(recording("d", "a", nullptr));
    }
    const Store store = Store::open_read_only(folder.path());
    CHECK(store.count_recordings() == 0);
}

TEST_CASE("writing outside a transaction is a mistake of ours, told at once") {
    TemporaryFolder folder;
    Store store = new_store(folder.path());
    CHECK_THROWS_AS(store.put(recording("d", "a", nullptr)), std::logic_error);
}

TEST_CASE("joining takes over finished recordings once, with their proofs kept") {
    TemporaryFolder folder;
    Store store = new_store(folder.path());
    store.begin();
    store.put(recording("d", "filler", nullptr));  // so that ids differ between the stores
    RecordingRow proven = recording("d", "a", nullptr);
    proven.state = RecordingState::pending;
    proven.settings.clear();
    proven.sha256 = "abc";
    proven.proved = true;
    store.put(proven);
    store.commit();

    const fs::path file = folder.path() / "hearwood/parts/part 1?#%.db";
    {
        Store part = Store::open_part(file);
        part.begin();
        part.replace_settings(kSettings);
        const std::vector<MeasuredSegment> rows{segment(0, 0, 1), segment(1, 0, 2, 4.5)};
        part.append(part.put(recording("d", "a", "2024-03-01T06:00:00")), rows);
        RecordingRow half = recording("d", "half", "2024-03-01T07:00:00");
        half.state = RecordingState::pending;
        part.append(part.put(half), rows);
        part.commit();
    }
    const Store part = Store::open_part_read_only(file);
    CHECK(store.join(part) == 1);
    CHECK(listing(store) == std::vector<std::string>{"a 0 0 1 ", "a 1 0 2 4.5"});
    CHECK(store.find("a")->sha256 == "abc");
    CHECK(store.find("a")->proved);
    CHECK(store.spectrum(store.find("a")->id, 1, 0) == segment(1, 0, 2).spectra);
    CHECK_FALSE(store.find("half"));
    CHECK(store.join(part) == 0);
    CHECK(store.count_segments() == 2);

    store.begin();
    store.replace_settings({"hash-2", "{}", 1, {"other"}});
    store.commit();
    CHECK_THROWS_AS(store.join(part), MachineError);
}

TEST_CASE("what is no store is refused with a way out") {
    TemporaryFolder folder;
    CHECK_THROWS_AS(Store::open_read_only(folder.path()), InputError);
    CHECK_FALSE(Store::exists(folder.path()));
    fs::create_directory(folder.path() / "hearwood");
    write_whole_file(Store::path_in(folder.path()),
                     "this is no database, but long enough to be told apart "
                     "from an empty file by its first hundred bytes");
    CHECK_THROWS_AS(Store::open(folder.path()), InputError);
    CHECK_THROWS_AS(Store::open_read_only(folder.path()), InputError);

    fs::remove(Store::path_in(folder.path()));
    sqlite3* other = nullptr;
    sqlite3_open(Store::path_in(folder.path()).c_str(), &other);
    sqlite3_exec(other, "CREATE TABLE mine (x)", nullptr, nullptr, nullptr);
    sqlite3_close(other);
    CHECK_THROWS_AS(Store::open(folder.path()), InputError);
}

TEST_CASE("a kept result comes back as it went in, and a newer one takes its place") {
    const TemporaryFolder folder;
    Store store = new_store(folder.path());
    CHECK_FALSE(store.kept_result("robustness"));
    store.begin();
    store.keep_result({"robustness", "abc", "{\"p\":0.5}"});
    store.keep_result({"listening", "def", "[]"});
    store.keep_result({"robustness", "ghi", "{\"p\":0.25}"});
    store.commit();
    const auto kept = Store::open_read_only(folder.path()).kept_result("robustness");
    REQUIRE(kept);
    CHECK(kept->fingerprint == "ghi");
    CHECK(kept->json == "{\"p\":0.25}");
    CHECK(store.kept_result("listening")->fingerprint == "def");
}

TEST_CASE(
    "a database of version 1 is read as it is, and brought up to date when it is written to") {
    const TemporaryFolder folder;
    {
        Store store = new_store(folder.path());
        store.begin();
        store.append(store.put(recording("D1", "a.wav", "2031-05-04 05:00")),
                     std::vector{segment(0, 0, 1.5)});
        store.commit();
    }
    {
        sqlite3* handle = nullptr;
        REQUIRE(sqlite3_open(Store::path_in(folder.path()).c_str(), &handle) == SQLITE_OK);
        REQUIRE(
            sqlite3_exec(
                handle,
                "DROP TABLE results; DROP TABLE sounds; DROP TABLE even; PRAGMA user_version = 1",
                nullptr, nullptr, nullptr) == SQLITE_OK);
        sqlite3_close(handle);
    }
    const auto before = listing(Store::open_read_only(folder.path()));
    CHECK(before.size() == 1);
    CHECK_FALSE(Store::open_read_only(folder.path()).kept_result("robustness"));
    Store store = Store::open(folder.path());
    CHECK(listing(store) == before);
    store.begin();
    store.keep_result({"robustness", "abc", "{}"});
    store.commit();
    CHECK(store.kept_result("robustness"));
    CHECK(store.integrity_problems().empty());
}

TEST_CASE("column names that SQL cannot tell apart are refused") {
    TemporaryFolder folder;
    Store store = Store::open(folder.path());
    store.begin();
    CHECK_THROWS_AS(store.replace_settings({"h", "{}", 1, {"aci_Frogs", "aci_frogs"}}), InputError);
}

TEST_CASE("docs/database.md names every table and column, and the marks of the file") {
    TemporaryFolder folder;
    Store::open(folder.path());
    const std::string docs =
        read_whole_file(fs::path(HEARWOOD_SOURCE_DIR) / "docs" / "database.md");
    sqlite3* client = nullptr;
    REQUIRE(sqlite3_open(Store::path_in(folder.path()).c_str(), &client) == SQLITE_OK);
    std::vector<std::string> names;
    sqlite3_exec(
        client,
        "SELECT t.name, c.name FROM sqlite_schema t, pragma_table_info(t.name) c WHERE t.type = "
        "'table' UNION ALL SELECT 'application_id', application_id FROM pragma_application_id",
        [](void* out, int, char** cells, char**) {
            auto& list = *static_cast<std::vector<std::string>*>(out);
            list.insert(list.end(), {cells[0], cells[1]});
            return 0;
        },
        &names, nullptr);
    sqlite3_close(client);
    REQUIRE(names.size() > 40);
    const auto holds = [&](const std::string& text) {
        return docs.find(text) != std::string::npos;
    };
    for (const std::string& name : names) {
        INFO(name);
        const bool mark = name == "application_id" || name == "1214603634";
        const bool told = holds(mark ? name : "`" + name + "`") || holds("\n## " + name + ":");
        CHECK(told);
    }
}
