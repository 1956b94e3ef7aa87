// CSV cells and the data package, as the standards have them.
#include "base/csv_writer.h"

#include <catch2/catch.hpp>
#include <filesystem>
#include <limits>
#include <nlohmann/json.hpp>

#include "base/file.h"
#include "base/missing.h"
#include "base/sha256.h"
#include "store/data_package.h"
#include "temporary_folder.h"

using namespace hearwood;
namespace fs = std::filesystem;

namespace {

std::string cell(std::string_view text) {
    std::string out;
    append_csv_text(out, text);
    return out;
}

}  // namespace

// RFC 4180, section 2, rules 5 to 7.
TEST_CASE("cells are quoted where RFC 4180 asks for it") {
    CHECK(cell("plain text") == "plain text");
    CHECK(cell("") == "");
    CHECK(cell("a,b") == "\"a,b\"");
    CHECK(cell("say \"hm\"") == "\"say \"\"hm\"\"\"");
    CHECK(cell("two\nlines") == "\"two\nlines\"");
    CHECK(cell("two\rlines") == "\"two\rlines\"");
}

TEST_CASE("text that a spreadsheet would run gets an apostrophe, and so does the apostrophe") {
    CHECK(cell("=1+2") == "'=1+2");
    CHECK(cell("+60") == "'+60");
    CHECK(cell("-5") == "'-5");
    CHECK(cell("@sum") == "'@sum");
    CHECK(cell("\tx") == "'\tx");
    CHECK(cell("\rx") == "\"'\rx\"");
    CHECK(cell("'quoted'") == "''quoted'");
    CHECK(cell("=a,b") == "\"'=a,b\"");
    CHECK(cell("a=b") == "a=b");
}

TEST_CASE("a table is whole or not there, and its sum is that of its bytes") {
    const testing::TemporaryFolder temporary;
    const fs::path& folder = temporary.path();
    const std::vector<std::string> header{"site", "aci", "n"};
    {
        CsvWriter abandoned(folder / "a.csv", header);
        abandoned.text("x");
    }
    CHECK(fs::is_empty(folder));
    CsvWriter csv(folder / "a.csv", header);
    csv.text("ridge");
    csv.number(0.1);
    csv.integer(-3);
    csv.end_row();
    csv.missing();
    csv.number(kMissing);
    csv.integer(std::numeric_limits<std::int64_t>::min());
    csv.end_row();
    csv.text("-x");
    csv.number(-std::numeric_limits<double>::infinity());
    csv.number(std::optional<double>());
    csv.end_row();
    csv.text("too short");
    CHECK_THROWS_AS(csv.end_row(), std::logic_error);
    csv.missing();
    csv.missing();
    csv.end_row();
    const auto written = csv.commit();
    const std::string bytes = read_whole_file(folder / "a.csv");
    CHECK(bytes == "site,aci,n\nridge,0.1,-3\n,,-9223372036854775808\n'-x,-INF,\ntoo short,,\n");
    CHECK(written.rows == 4);
    CHECK(written.bytes == bytes.size());
    CHECK(written.sha256 == sha256_of(bytes));
}

// Property names as in the specifications Data Package v1, Tabular Data Resource and Table Schema
// v1 (from memory).
TEST_CASE("a data package describes tables in the terms of the specification") {
    TableDescription sites;
    sites.name = "site_hours";
    sites.path = "site_hours.csv";
    TableField site{"site", "string", "Site", "", "", "http://rs.tdwg.org/dwc/terms/locationID"};
    site.required = true;
    TableField aci{"aci", "number", "", "complexity", "1", ""};
    aci.minimum = 0;
    sites.fields = {site, aci};
    sites.primary_key = {"site"};
    sites.foreign_keys = {{{"site"}, "sites", {"site"}}};
    sites.bytes = 12;
    sites.sha256 = "ab";
    const std::string text =
        data_package_json({"survey", "T", "", "1.0", {{"settings", "h"}}}, {sites});
    CHECK(text.back() == '\n');
    const auto json = nlohmann::json::parse(text);
    CHECK(json["profile"] == "tabular-data-package");
    CHECK(json["settings"] == "h");
    CHECK_FALSE(json.contains("description"));
    const auto& resource = json["resources"][0];
    CHECK(resource["hash"] == "sha256:ab");
    CHECK(resource["schema"]["missingValues"] == nlohmann::json::array({""}));
    CHECK(resource["schema"]["primaryKey"] == "site");
    CHECK(resource["schema"]["foreignKeys"][0]["reference"]["resource"] == "sites");
    CHECK(resource["schema"]["fields"][0]["constraints"]["required"] == true);
    CHECK(resource["schema"]["fields"][1]["constraints"]["minimum"] == 0.0);
    CHECK(resource["schema"]["fields"][0]["rdfType"] == "http://rs.tdwg.org/dwc/terms/locationID");
}
