// Every refusal and warning of sites.csv, word by word.
#include <catch2/catch.hpp>

#include "support.h"
#include "survey/columns.h"

using namespace hearwood;
using namespace hearwood::testing;
using Lines = std::vector<std::string>;

namespace {

/// Problems when this row stands fifth, in line 6.
Lines with_site(const std::string& row) {
    SheetTexts texts;
    texts.sites += row + "\n";
    texts.deployments += "D5,S5,recordings/D5,,,\n";
    return texts.problems();
}

/// Problems when this is the sheet; the settings stay.
Lines sites_alone(const std::string& sheet) {
    SheetTexts texts;
    texts.sites = sheet;
    texts.deployments = "deployment,site,folder\n";
    Lines lines = texts.problems();
    std::erase_if(lines,
                  [](const std::string& line) { return line.starts_with("deployments.csv"); });
    return lines;
}

}  // namespace

TEST_CASE("a fifth site in order") {
    CHECK(with_site("S5,1.6,110.4,poor") == Lines{});
}

TEST_CASE("coordinates that cannot be") {
    const std::string fix = "; check for swapped columns and a lost decimal mark";
    CHECK(with_site("S5,110.4,1.6,poor") ==
          Lines{"sites.csv:6:2 (latitude) '110.4': latitude runs from -90 to 90" + fix});
    CHECK(with_site("S5,1.6,1104,poor") ==
          Lines{"sites.csv:6:3 (longitude) '1104': longitude runs from -180 to 180" + fix});
    CHECK(with_site("S5,,110.4,poor") ==
          Lines{"sites.csv:6:2 (latitude): a site needs its "
                "coordinates; write decimal degrees, such as 1.553"});
    CHECK(with_site("S5,1\u00B036'N,110.4,poor") ==
          Lines{"sites.csv:6:2 (latitude) '1\u00B036'N': not a number; write the number alone, "
                "without a unit; leave it empty when "
                "unknown"});
    CHECK(with_site("S5,\"1,6\",110.4,poor") ==
          Lines{"sites.csv:6:2 (latitude) '1,6': this may be a decimal mark or a thousands mark; "
                "write a decimal point, no thousands "
                "mark, and the same in the whole sheet"});
}

TEST_CASE("coordinates that are doubtful") {
    CHECK(with_site("S5,0,0,poor") ==
          Lines{"sites.csv:6:2 (latitude) '0': warning: 0, 0 lies in "
                "the Atlantic Ocean; write the site's own coordinates"});
    CHECK(with_site("S5,1.5,110.3,poor") ==
          Lines{"sites.csv:6:2 (latitude) '1.5': warning: the same coordinates as the site of line "
                "2; two sites at one place are one "
                "replicate: check the numbers"});
    CHECK(with_site("S5,1.6,-110.4,poor") ==
          Lines{"sites.csv:6:3 (longitude) '-110.4': warning: the sun here is 9 hours off the "
                "clock of Asia/Kuching; check the sign "
                "of the longitude (east is positive) and the survey's time_zone"});
}

TEST_CASE("names that cannot be") {
    CHECK(with_site("S1,1.6,110.4,poor")[0] ==
          "sites.csv:6:1 (site) 'S1': line 2 already describes this site; one row a site; further "
          "recorders of a site go into "
          "deployments.csv");
    CHECK(with_site(",1.6,110.4,poor")[0] ==
          "sites.csv:6:1 (site): this field is empty; write a name");
    CHECK(with_site("\"S\n5\",1.6,110.4,poor")[0] ==
          "sites.csv:6:1 (site) 'S\\x0A5': a name holds a line break or control character; write "
          "it on one line");
    CHECK(with_site("s1,1.6,110.4,poor")[0] ==
          "sites.csv:6:1 (site) 's1': warning: differs from the site of line 2 by capital letters "
          "only; if it is the same site, keep "
          "one row");
    CHECK(with_site("S5,1.6,110.4,") ==
          Lines{"sites.csv:6:4 (nutrient_status): this field is empty; write a name"});
}

TEST_CASE("columns that are not there, with the header that comes near") {
    CHECK(sites_alone("Site,lat,longitude,nutrient status\nS1,1.5,110.3,rich\n") ==
          Lines{"sites.csv:1:1 'Site': warning: a column of the survey's own; if 'site' was meant, "
                "rename it",
                "sites.csv:1: there is no column 'site', which names the sites; rename column "
                "'Site' to 'site'",
                "sites.csv:1: there is no column 'latitude', which sunrise and sunset are worked "
                "out from; add the column; the header "
                "has Site, lat, longitude, nutrient status",
                "sites.csv:1: there is no column 'nutrient_status', which [stands] factor names; "
                "rename column 'nutrient status' to "
                "'nutrient_status'"});
    CHECK(sites_alone("").at(0) ==
          "sites.csv:1: the sheet is empty; its first line names the columns");
    CHECK(sites_alone("site,latitude,longitude,nutrient_status\n") ==
          Lines{"sites.csv:1: the sheet has a header and no sites; add a row for each site"});
}

TEST_CASE("numbers of known columns out of their range, and text in them") {
    const std::string head =
        "site,latitude,longitude,nutrient_status,elevation_m\n"
        "S1,1.50,110.30,rich,20\nS2,1.51,110.31,rich,20\nS3,1.52,110.32,poor,20\n";
    CHECK(sites_alone(head + "S4,1.53,110.33,poor,9001\n") ==
          Lines{"sites.csv:5:5 (elevation_m) '9001': elevation_m runs from -430 to 9000; check the "
                "value and its unit (m)"});
    CHECK(sites_alone(head + "S4,1.53,110.33,poor,low\n") ==
          Lines{"sites.csv:5:5 (elevation_m) 'low': not a number; write the number alone, without "
                "a unit; leave it empty when unknown"});
    CHECK(sites_alone(head + "S4,1.53,110.33,poor,\n") == Lines{});
}

TEST_CASE("a column in words, with the unit that its name ends in") {
    using Words = std::pair<std::string, std::string>;
    CHECK(column_in_words("elevation_m") == Words{"elevation", "m"});
    CHECK(column_in_words("canopy_height_m") == Words{"canopy height", "m"});
    CHECK(column_in_words("deployments.gain_db") == Words{"recorder gain", "dB"});
    CHECK(column_in_words("soil_carbon_pct") == Words{"soil carbon", "%"});
    CHECK(column_in_words("slope_class") == Words{"slope class", ""});
    CHECK(column_in_words("m") == Words{"m", ""});
    CHECK(column_in_words("_m") == Words{" m", ""});
}

TEST_CASE("a column of the survey's own may hold text, but no ambiguous number") {
    const std::string head =
        "site,latitude,longitude,nutrient_status,light\nS1,1.50,110.30,rich,dim\nS2,1.51,110.31,"
        "rich,20\n"
        "S3,1.52,110.32,poor,20\n";
    CHECK(sites_alone(head + "S4,1.53,110.33,poor,some\n") == Lines{});
    CHECK(sites_alone(head + "S4,1.53,110.33,poor,\"1,234\"\n") ==
          Lines{"sites.csv:5:5 (light) '1,234': this may be a decimal mark or a thousands mark; "
                "write a decimal point, no thousands "
                "mark, and the same in the whole sheet"});
}

TEST_CASE("classes with too few sites") {
    const std::string head =
        "site,latitude,longitude,nutrient_status\nS1,1.50,110.30,rich\nS2,1.51,110.31,rich\n";
    CHECK(sites_alone(head) ==
          Lines{"survey.toml ([stands] compare) 'poor': no site of sites.csv has "
                "this nutrient_status; the sheet has rich"});
    CHECK(
        sites_alone(head + "S3,1.52,110.32,poor\n") ==
        Lines{"survey.toml ([stands] compare) 'poor': warning: only one site has this "
              "nutrient_status: the contrast cannot be "
              "tested; sites are the replicates: at least 2 a class, 4 a class for p below 0.05"});
    CHECK(sites_alone(head + "S3,1.52,110.32,Poor\nS4,1.53,110.33,poor\n").size() == 1);
}

TEST_CASE("the block of a site that is compared must be known") {
    SheetTexts texts;
    texts.settings += "block = \"river\"\n";
    texts.sites =
        "site,latitude,longitude,nutrient_status,river\nS1,1.50,110.30,rich,Long\nS2,1.51,110.31,"
        "rich,Long\n"
        "S3,1.52,110.32,poor,\nS4,1.53,110.33,poor,Long\nS5,1.54,110.34,mixed,\n";
    CHECK(texts.problems().at(0) == "sites.csv:4:5 (river): this field is empty; write a name");
    CHECK(texts.problems().size() == 1);
}

TEST_CASE("a broken sheet does not make its sites unknown") {
    SheetTexts texts;
    texts.sites = "site,latitude,longitude,nutrient_status\nS1,1.50,110.30,\"rich\n";
    CHECK(texts.problems() == Lines{"sites.csv:2:4: a quoted field begins in this row and never "
                                    "ends; close it with a quotation mark"});
}
