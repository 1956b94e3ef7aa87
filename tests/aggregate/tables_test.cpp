// The files as they stand on the disk.
#include "aggregate/tables.h"

#include <algorithm>
#include <catch2/catch.hpp>
#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "aggregate/coverage_table.h"
#include "aggregate/mean_tables.h"
#include "aggregate/segment_table.h"
#include "base/interrupt.h"
#include "base/sha256.h"
#include "base/sheet.h"
#include "base/text.h"
#include "synthetic_survey.h"

using namespace hearwood;
using namespace hearwood::synthetic;

namespace {

constexpr const char* kTables[] = {
    "segments.csv",   "site_hours.csv", "site_windows.csv",      "hours.csv", "windows.csv",
    "recordings.csv", "coverage.csv",   "decisions_applied.csv", "sites.csv", "deployments.csv"};

/// A survey folder with sheets (hashed into the package), and a small store.
struct TableScene {
    Survey survey = four_sites();
    TemporaryFolder folder;
    std::filesystem::path tables = folder.path() / "tables";
    TableScene() {
        survey.folder = folder.path();
        survey.deployments[1].full_scale_db_spl = 94.5;
        survey.deployments[0].clock_error_start_s = 90;
        for (const char* sheet : {"survey.toml", "sites.csv", "deployments.csv"})
            write_whole_file(folder.path() / sheet, sheet);
    }
    using Job = std::function<void(Filler&)>;
    static std::vector<Job> jobs() {
        return {
            [](Filler& f) {
                f.add(
                    "DK1", "a,1.wav", "2031-05-04 05:30:00",
                    {{{"aci", 1.25}}, {{"aci", 0.1}}, {{"clipped_fraction", 1}}, {{"_short", 1}}});
            },
            [](Filler& f) {
                f.add("DK2", "b.wav", "2031-05-04 23:58:30",
                      {{{"aci", 3}}, {{"aci", 4}}, {{"aci", 5}}});
            },
            [](Filler& f) {
                f.add("DH1", "c.wav", "2031-05-05 05:30:00.250", {{{"aci", 1e-9}}});
            },
            [](Filler& f) {
                RecordingRow row = f.row("DH2", "d.wav", "2031-05-05 05:30:00", 0);
                row.state = RecordingState::unreadable;
                row.reason = "nothing that can be opened as sound";
                row.sample_rate = row.channels = row.bits = 0;
                f.store().begin();
                f.store().put(row);
                f.store().commit();
            },
            [](Filler& f) {
                f.add("D-elsewhere", "e.wav", "2031-05-05 05:30:00", {{{"aci", 9}}});
            },
        };
    }
    TablesWritten write(bool backwards = false) {
        static int number = 0;
        Filler filler(survey, folder.path() / ("store" + std::to_string(number++) + ".db"));
        std::vector<Job> list = jobs();
        if (backwards) std::reverse(list.begin(), list.end());
        for (const Job& job : list) job(filler);
        return write_tables(survey, filler.store(), tables, true);
    }
    std::string text(const std::string& name) const { return read_whole_file(tables / name); }
    Sheet sheet(const std::string& name) const {
        std::vector<Problem> problems;
        Sheet result = read_sheet(tables / name, name, problems);
        REQUIRE(problems.empty());
        return result;
    }
    std::string cell(const std::string& name, std::size_t row, const std::string& column) const {
        const Sheet table = sheet(name);
        const auto place = table.column(column);
        REQUIRE(place);
        REQUIRE(row < table.rows.size());
        return table.rows[row].cells[*place];
    }
};

bool is_type(const nlohmann::json& field, const std::string& cell) {
    const std::string type = field["type"];
    if (cell.empty()) return true;
    if (type == "number") return parse_number(cell).has_value();
    if (type == "integer") return parse_integer(cell).has_value();
    if (type == "boolean") return cell == "0" || cell == "1";
    if (type == "date") return parse_date(cell).has_value();
    if (type == "datetime") {
        const bool utc = cell.back() == 'Z';
        const std::string wall = cell.substr(0, cell.size() - (utc ? 1 : 6));
        return parse_local_time(wall).has_value() &&
               (utc || parse_offset(cell.substr(cell.size() - 6)));
    }
    return type == "string";
}

}  // namespace

TEST_CASE("segments.csv has the agreed columns in the agreed order") {
    TableScene scene;
    scene.write();
    const std::string header =
        scene.text("segments.csv").substr(0, scene.text("segments.csv").find('\n'));
    CHECK(
        header.starts_with("site,stand,deployment,file,channel,segment,start_utc,start_local,date,"
                           "hour,duration_s,complete,"
                           "window,minutes_from_sunrise,aci,"));
    CHECK(header.ends_with(",flags,kept,reasons"));
    std::size_t last = 0;
    for (const Column& column : index_columns(scene.survey.measure)) {
        const std::size_t place = header.find("," + column.name + ",");
        INFO(column.name);
        REQUIRE(place != std::string::npos);
        CHECK(place > last);
        last = place;
    }
}

TEST_CASE("a row of segments.csv says where and when it was, and why it is not kept") {
    TableScene scene;
    scene.write();
    const auto cell = [&](std::size_t row, const char* column) {
        return scene.cell("segments.csv", row, column);
    };
    // DH1, then DK1 (four rows), then DK2, by the deployments' names.
    CHECK(cell(0, "start_utc") == "2031-05-04T21:30:00.250Z");
    CHECK(cell(0, "start_local") == "2031-05-05T05:30:00.250+08:00");
    CHECK(cell(0, "date") == "2031-05-05");
    CHECK(cell(0, "hour") == "5");
    CHECK(cell(0, "aci") == "1e-09");
    CHECK(cell(1, "site") == "K1");
    CHECK(cell(1, "stand") == "rich");
    CHECK(cell(1, "file") == "recordings/DK1/a,1.wav");
    CHECK(cell(1, "start_local") == "2031-05-04T05:28:30+08:00");  // 90 s ahead
    CHECK(cell(1, "duration_s") == "60");
    CHECK(cell(1, "window") == "dawn");
    CHECK(cell(1, "kept") == "1");
    CHECK(cell(1, "reasons").empty());
    CHECK(cell(3, "kept") == "0");
    CHECK(cell(3, "flags") == "clipped");
    CHECK(cell(3, "reasons") == "clipped");
    CHECK(cell(4, "complete") == "0");
    CHECK(cell(4, "reasons") == "short");
    CHECK(cell(5, "window") == "night");
    CHECK(cell(5, "leq_dbfs") == "-40");
    CHECK(cell(5, "leq_dbspl") == "54.5");
    CHECK(cell(1, "leq_dbspl").empty());
}

TEST_CASE("Ctrl-C leaves the tables as they were") {
    TableScene scene;
    scene.write();
    const std::string before = scene.text("segments.csv");
    scene.survey.sites[0].stand = "changed";
    set_interrupted(true);
    CHECK_THROWS_AS(scene.write(), Interrupted);
    set_interrupted(false);
    CHECK(scene.text("segments.csv") == before);
    CHECK_FALSE(std::filesystem::exists(scene.tables / "segments.csv.part"));
}

TEST_CASE("averages carry their effort") {
    TableScene scene;
    scene.write();
    // By site in the order of sites.csv: K1, K2 (23 h, then 0 h of the next date), H1.
    CHECK(scene.cell("site_hours.csv", 0, "aci") == "0.675");  // (1.25 + 0.1) / 2
    CHECK(scene.cell("site_hours.csv", 0, "kept") == "2");
    CHECK(scene.cell("site_hours.csv", 0, "possible") == "3");
    CHECK(scene.cell("site_windows.csv", 1, "window") == "night");
    CHECK(scene.cell("site_windows.csv", 1, "date") == "2031-05-04");
    CHECK(scene.cell("site_windows.csv", 1, "aci") == "4");
    CHECK(scene.cell("hours.csv", 0, "dates") == "1");
    // Two quarters from sunset: (3 + 4) / 2 and 5.
    CHECK(scene.cell("windows.csv", 1, "aci") == "4.25");
    CHECK(scene.cell("windows.csv", 1, "cells") == "2");
}

TEST_CASE("recordings.csv lists every file with its state") {
    TableScene scene;
    const TablesWritten written = scene.write();
    CHECK(written.recordings == 5);
    CHECK(written.unusable == 1);
    const auto cell = [&](std::size_t row, const char* column) {
        return scene.cell("recordings.csv", row, column);
    };
    CHECK(cell(1, "state") == "unreadable");
    CHECK(cell(1, "note") == "nothing that can be opened as sound");
    CHECK(cell(1, "rate").empty());
    CHECK(cell(2, "correction_s") == "-90");
    CHECK(cell(2, "segments") == "4");
    CHECK(cell(2, "kept") == "2");
    CHECK(cell(4, "state") == "not in deployments.csv");
    // Segments of a deployment that the sheet does not have are in no table.
    CHECK(scene.text("segments.csv").find("e.wav") == std::string::npos);
}

TEST_CASE("the same survey gives the same bytes whatever the order of measuring") {
    TableScene scene;
    scene.write();
    std::map<std::string, std::string> before;
    for (const char* name : kTables) before[name] = scene.text(name);
    before["datapackage.json"] = scene.text("datapackage.json");
    scene.write(true);
    for (const auto& [name, bytes] : before) {
        INFO(name);
        CHECK(scene.text(name) == bytes);
    }
}

TEST_CASE("the data package describes every column of every table, and every cell has its type") {
    TableScene scene;
    write_whole_file(scene.folder.path() / "tables-later", "");
    scene.write();
    // Tables of later stages are described when they are there.
    write_whole_file(scene.tables / "contrasts.csv",
                     "index,window,class_a,class_b,n_a,n_b,of_old\n");
    const Filler filler(scene.survey, scene.folder.path() / "other.db");
    TableDescription contrasts = describe_table("contrasts.csv", "contrasts", "A row is one.");
    for (const char* name : {"index", "window", "class_a", "class_b", "n_a", "n_b"}) {
        TableField& field = contrasts.fields.emplace_back();
        field.name = name;
        field.type = "string";
        field.description = "what it is";
    }
    write_data_package(scene.survey, filler.store(), scene.tables, std::span(&contrasts, 1));

    const auto package = nlohmann::json::parse(scene.text("datapackage.json"));
    CHECK(package["profile"] == "tabular-data-package");
    CHECK(package["name"] == "heath-and-alluvium");
    CHECK(package["settings_sha256"] == filler.settings().hash);
    CHECK(package["sites.csv_sha256"] == sha256_of("sites.csv"));
    std::set<std::string> described, names;
    for (const auto& resource : package["resources"]) names.insert(resource["name"]);
    for (const auto& resource : package["resources"]) {
        const std::string path = resource["path"];
        INFO(path);
        described.insert(path);
        CHECK(resource["bytes"] == scene.text(path).size());
        CHECK(resource["hash"] == "sha256:" + sha256_of(scene.text(path)));
        const Sheet table = scene.sheet(path);
        const auto& fields = resource["schema"]["fields"];
        REQUIRE(fields.size() == table.header.size());
        std::set<std::string> known;
        for (std::size_t i = 0; i < fields.size(); ++i) {
            INFO(table.header[i]);
            known.insert(table.header[i]);
            CHECK(fields[i]["name"] == table.header[i]);
            CHECK_FALSE(fields[i]["description"].get<std::string>().empty());
            CHECK(fields[i]["description"] != "as docs/tables.md describes it");
            for (const SheetRow& row : table.rows) {
                INFO(row.cells[i]);
                CHECK(is_type(fields[i], row.cells[i]));
                if (fields[i].contains("constraints") &&
                    fields[i]["constraints"].contains("required"))
                    CHECK_FALSE(row.cells[i].empty());
                if (fields[i].contains("constraints") &&
                    fields[i]["constraints"].contains("enum") && !row.cells[i].empty()) {
                    const auto& values = fields[i]["constraints"]["enum"];
                    CHECK(std::find(values.begin(), values.end(), row.cells[i]) != values.end());
                }
            }
        }
        CHECK(resource["schema"]["missingValues"] == nlohmann::json::array({""}));
        for (const auto& key : resource["schema"].value("foreignKeys", nlohmann::json::array()))
            CHECK(names.contains(key["reference"]["resource"].get<std::string>()));
    }
    for (const char* name : kTables) CHECK(described.contains(name));
    CHECK(described.contains("contrasts.csv"));
}

TEST_CASE("numbers have their units, and columns with a Darwin Core meaning are tied to the term") {
    TableScene scene;
    for (const TableDescription& table :
         {segments_table(scene.survey).description(), site_hours_table(scene.survey).description(),
          recordings_table(Zone()).description(), coverage_table(scene.survey).description(),
          windows_table(scene.survey).description()})
        for (const TableField& field : table.fields)
            if (field.type == "number" || field.type == "integer") {
                INFO(table.name << " " << field.name);
                CHECK_FALSE(field.unit.empty());
            }
    const TableDescription sites = sites_table(scene.survey).description();
    CHECK(sites.fields[1].name == "latitude");
    CHECK(sites.fields[1].rdf_type == "http://rs.tdwg.org/dwc/terms/decimalLatitude");
}
