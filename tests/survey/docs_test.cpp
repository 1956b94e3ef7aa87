// docs/sheets.md names what the program reads: every column, every key, every window, and its
// examples load.
#include <catch2/catch.hpp>
#include <fstream>
#include <iterator>
#include <sstream>

#include "support.h"
#include "survey/columns.h"
#include "survey/setting_keys.h"

using namespace hearwood;
using namespace hearwood::testing;

namespace {

std::string page_named(const std::string& name) {
    std::ifstream in(HEARWOOD_SOURCE_DIR "/docs/" + name);
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

TEST_CASE("the page on sheets names every known column") {
    const std::string page = page_named("sheets.md");
    for (const auto& columns : {known_site_columns(), known_deployment_columns()})
        for (const KnownColumn& column : columns) {
            INFO(column.name);
            CHECK(page.find("`" + std::string(column.name) + "`") != std::string::npos);
        }
}

TEST_CASE("the manual's tables of keys are those of the program") {
    // build/src/hearwood-reference keys docs/sheets.md docs/screens.md writes them anew.
    const std::string sheets = page_named("sheets.md"), screens = page_named("screens.md");
    CHECK(with_settings_tables(sheets, setting_sections()) == sheets);
    CHECK(with_settings_tables(screens, setting_sections()) == screens);
    for (const SettingSection& section : setting_sections()) {
        INFO(section.name);
        const std::string mark = std::string("<!-- keys of [") + section.name + "] -->";
        if (!section.keys.empty()) CHECK((sheets + screens).find(mark) != std::string::npos);
    }
}

TEST_CASE("the page's examples load together") {
    const std::string page = page_named("sheets.md");
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
