// verify: a survey that agrees is said to; a change anywhere is found and named.
#include <sqlite3.h>

#include <catch2/catch.hpp>
#include <fstream>
#include <functional>

#include "support.h"

using namespace hearwood;
using namespace hearwood::testing;

namespace {

/// Measured with sums, and tabulated.
void prepare(const SurveyOnDisk& survey) {
    survey.fill();
    std::ofstream(survey.recordings("D1") / "empty_20310504_070000.wav");
    const std::string folder = survey.folder().string();
    run_program({"measure", folder, "--quiet", "--hash"});
    run_program({"tabulate", folder, "--quiet"});
}

void rewrite_package(const SurveyOnDisk& survey, const std::string& text) {
    std::ofstream(survey.folder() / "hearwood/tables/datapackage.json") << text;
}

Outcome verify(const SurveyOnDisk& survey) {
    return run_program({"verify", survey.folder().string(), "--quiet"});
}

void sql(const SurveyOnDisk& survey, const char* statement) {
    sqlite3* database = nullptr;
    REQUIRE(sqlite3_open(Store::path_in(survey.folder()).c_str(), &database) == SQLITE_OK);
    REQUIRE(sqlite3_exec(database, statement, nullptr, nullptr, nullptr) == SQLITE_OK);
    sqlite3_close(database);
}

void change_byte(const fs::path& path, std::streamoff from_the_end) {
    // The time of the last change stays, so that only reading can tell.
    const auto time = fs::last_write_time(path);
    std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
    file.seekg(-from_the_end, std::ios::end);
    const char byte = static_cast<char>(file.get() ^ 0x40);
    file.seekp(-from_the_end, std::ios::end);
    file.put(byte);
    file.close();
    fs::last_write_time(path, time);
}

}  // namespace

TEST_CASE("a survey that agrees is said to agree") {
    SurveyOnDisk survey;
    prepare(survey);
    const Outcome outcome = verify(survey);
    CHECK(outcome.exit_code == 0);
    CHECK(in_one_line(outcome.out)
              .find("6 recordings read again, 5 of them with their SHA-256; 24 segments measured "
                    "again and compared to the bit") == 0);
    CHECK(outcome.out.find("recordings, database and tables agree\n") != std::string::npos);
    // It leaves nothing behind.
    for (const auto& entry : fs::directory_iterator(survey.folder() / "hearwood"))
        CHECK(entry.path().filename().string().find("verify") == std::string::npos);
}

TEST_CASE("what was changed behind the program's back is found and named") {
    const fs::path recording = "recordings/D2/B_20310504_050000.wav";
    struct Change {
        const char* name;
        std::function<void(const SurveyOnDisk&)> make;
        const char* told;
    };
    const Change changes[] = {
        {"a sample", [&](const SurveyOnDisk& s) { change_byte(s.folder() / recording, 5000); },
         "B_20310504_050000.wav: its SHA-256 is not that of the database"},
        {"a sample where no sum is stored",
         [&](const SurveyOnDisk& s) {
             sql(s, "UPDATE recordings SET sha256 = NULL");
             change_byte(s.folder() / recording, 5001);
         },
         "B_20310504_050000.wav: channel "},
        {"a value in the database",
         [](const SurveyOnDisk& s) {
             sql(s,
                 "UPDATE segments SET aci = aci * 1.0000001 WHERE channel = 1 AND segment = 2 AND "
                 "recording IN (SELECT id FROM recordings WHERE deployment = 'D2')");
         },
         "B_20310504_050000.wav: channel 1, segment 2: aci is "},
        {"a missing row",
         [](const SurveyOnDisk& s) {
             sql(s,
                 "DELETE FROM segments WHERE segment = 1 AND recording IN (SELECT id FROM "
                 "recordings WHERE path LIKE '%A_20310504_060000.wav')");
         },
         "A_20310504_060000.wav: channel 0, segment 1 is not in the database"},
        {"a row too many",
         [](const SurveyOnDisk& s) {
             sql(s,
                 "INSERT INTO segments (id, recording, channel, segment, first_sample, samples, "
                 "complete) SELECT id + 100, recording, channel, segment + 100, 0, 1, 1 FROM "
                 "segments LIMIT 1");
         },
         "the database has 1 segment of it that is not in the recording"},
        {"a kept spectrum",
         [](const SurveyOnDisk& s) {
             sql(s,
                 "UPDATE spectra SET kept = (SELECT kept FROM spectra ORDER BY segment_id DESC "
                 "LIMIT 1)"
                 " WHERE segment_id = (SELECT min(segment_id) FROM spectra)");
         },
         "the kept spectrum is another when measured again"},
        {"a table",
         [](const SurveyOnDisk& s) { change_byte(s.folder() / "hearwood/tables/segments.csv", 3); },
         "segments.csv: is not the file that the data package describes"},
        {"a table that is gone",
         [](const SurveyOnDisk& s) { fs::remove(s.folder() / "hearwood/tables/hours.csv"); },
         "hours.csv: is in the data package and not on the disk"},
        {"a data package whose resources are none",
         [](const SurveyOnDisk& s) { rewrite_package(s, R"({"resources": 3})"); },
         "datapackage.json: is no data package"},
        {"a data package whose resource is a number",
         [](const SurveyOnDisk& s) { rewrite_package(s, R"({"resources": [3]})"); },
         "datapackage.json: a resource has no path"},
        {"a data package whose path is a number",
         [](const SurveyOnDisk& s) { rewrite_package(s, R"({"resources": [{"path": 3}]})"); },
         "datapackage.json: a resource has no path"},
        {"a recording that is gone",
         [&](const SurveyOnDisk& s) { fs::remove(s.folder() / recording); },
         "B_20310504_050000.wav: is no longer on the disk"},
        {"a recording that is new",
         [](const SurveyOnDisk& s) { s.wave("D1", "N_20310507_050000.wav", 2, 1); },
         "1 recording on the disk is new or changed since the last measuring"},
    };
    for (const Change& change : changes) {
        INFO(change.name);
        SurveyOnDisk survey;
        prepare(survey);
        change.make(survey);
        const Outcome outcome = verify(survey);
        INFO(outcome.out << outcome.err);
        CHECK(outcome.exit_code == 1);
        CHECK(in_one_line(outcome.out).find(change.told) != std::string::npos);
    }
}
