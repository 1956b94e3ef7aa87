// docs/tables.md must tell of every table and every column that is written.
#include <catch2/catch.hpp>
#include <filesystem>

#include "base/file.h"
#include "contrast/robustness.h"
#include "contrast/survey_contrast.h"

using namespace hearwood;

TEST_CASE("every table of contrasts and every column of it stands in docs/tables.md") {
    const std::string docs =
        read_whole_file(std::filesystem::path(HEARWOOD_SOURCE_DIR) / "docs" / "tables.md");
    for (const TableDescription& table : contrast_tables()) {
        INFO(table.path);
        const std::size_t heading = docs.find("### `" + table.path + "`");
        REQUIRE(heading != std::string::npos);
        const std::string part = docs.substr(heading, docs.find("\n#", heading) - heading);
        // A table that is another one's like only refers to it.
        const bool like = part.find("As contrasts.csv") != std::string::npos;
        for (const TableField& field : table.fields) {
            INFO(field.name);
            CHECK((like ? docs : part).find("`" + field.name + "`") != std::string::npos);
            CHECK_FALSE(field.description.empty());
        }
    }
}

TEST_CASE("a factor that nobody describes is not written") {
    const std::vector<Factor> factors{{"weather of the week", {"as declared"}}};
    CHECK_THROWS_AS(robustness_grid_table(factors), std::logic_error);
}
