// docs/sheets.md names what the program reads: every column, every key, every window, and its
// examples load.
#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>
#include <sstream>

#include "support.h"
#include "survey/columns.h"

using namespace hearwood;
using namespace hearwood::testing;

namespace {

std::string sheets_page() {
    std::ifstream in(HEARWOOD_SOURCE_DIR "/docs/sheets.md");
    return {std::istreambuf_iterator<char>(in), {}};
}

/// The indented block that begins with this line, without its indent.
std::string block(const std::string& page, const std::string& first_line) {
    std::istringstream in(page);
    std::string text;
    bool inside = false;
    for (std::string line; std::getline(in, line);) {
        const bool indented = line.starts_with("    ");
        if (indented && line.substr(4) == first_line) inside = true;
        if (!inside) continue;
        if (!indented && !line.empty()) break;
        text += (indented ? line.substr(4) : line) + "\n";
    }
    return text;
}

}  // namespace

TEST_CASE("the page on sheets names every known column and key") {
    const std::string page = sheets_page();
    const auto named = [&](const std::string& name) {
        return page.find("`" + name + "`") != std::string::npos;
    };
    for (const auto& columns : {known_site_columns(), known_deployment_columns()})
        for (const KnownColumn& column : columns) {
            INFO(column.name);
            CHECK(named(column.name));
        }
    for (const char* key :
         {"title",       "time_zone", "factor", "compare",  "block",      "listening_distance_m",
          "segment_s",   "frame",     "hop",    "range_hz", "step_s",     "anthrophony_hz",
          "biophony_hz", "primary",   "seed",   "level",    "start_time", "dawn",
          "dusk",        "day",       "night"}) {
        INFO(key);
        CHECK(named(key));
    }
}

TEST_CASE("the page's examples load together") {
    const std::string page = sheets_page();
    SheetTexts texts;
    texts.settings = block(page, "[survey]") + block(page, "[windows]");
    texts.sites = block(page, "site,latitude,longitude,nutrient_status,river,organic_depth_cm");
    texts.deployments = block(
        page,
        "deployment,site,folder,recorder,start,end,clock_error_start_s,clock_error_end_s,gain_db");
    const Survey survey = texts.load();
    CHECK(survey.stands.block == "river");
    CHECK(survey.windows.size() == 4);
    CHECK(survey.windows[0].name == "frogs");
    CHECK(survey.sites.size() == 2);
    CHECK(survey.deployments.size() == 1);
}
