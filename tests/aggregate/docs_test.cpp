// docs/tables.md must tell of every table and every column that the program writes.
#include <catch2/catch.hpp>

#include "aggregate/tables.h"
#include "base/file.h"
#include "synthetic_survey.h"

using namespace hearwood;
using namespace hearwood::synthetic;

TEST_CASE(
    "every table and column stands in docs/tables.md or docs/measures.md or docs/screens.md") {
    const std::filesystem::path docs = std::filesystem::path(HEARWOOD_SOURCE_DIR) / "docs";
    const std::string tables = read_whole_file(docs / "tables.md");
    const std::string values =
        read_whole_file(docs / "measures.md") + read_whole_file(docs / "screens.md") + tables;
    const Survey survey = four_sites();
    for (const TableDescription& table : survey_tables(survey)) {
        if (table.path == "sites.csv" || table.path == "deployments.csv")
            continue;  // the user's own
        INFO(table.path);
        CHECK(tables.find("`" + table.path + "`") != std::string::npos);
        for (const TableField& field : table.fields) {
            INFO(field.name);
            CHECK(values.find("`" + field.name + "`") != std::string::npos);
        }
    }
}
