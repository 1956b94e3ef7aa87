#include "base/table.h"

#include <catch2/catch.hpp>
#include <limits>

#include "base/file.h"
#include "temporary_folder.h"

using namespace hearwood;

namespace {

struct Visit {
    std::string site;
    int cards = 0;
    double hours = 0;
    bool done = false;
    std::optional<double> gain;
};

constexpr double kMissingHours = std::numeric_limits<double>::quiet_NaN();
constexpr double kUnbounded = std::numeric_limits<double>::infinity();

TableOf<Visit> visits() {
    return TableOf<Visit>("field_visits.csv", "visits", "A row is a visit.")
        .column("site", "", "recording site", &Visit::site)
        .column("cards", "1", "cards taken in", &Visit::cards)
        .column("days", "d", "days out", [](const Visit& visit) { return visit.hours / 24; })
        .column("done", "", "1: over", &Visit::done)
        .column("gain", "dB", "of the recorder", &Visit::gain)
        .key({"site"});
}

}  // namespace

TEST_CASE("header, types and cells follow one description") {
    const TableDescription table = visits().description();
    CHECK(table.name == "field-visits");
    CHECK(header_of(table) == std::vector<std::string>{"site", "cards", "days", "done", "gain"});
    std::string types;
    for (const TableField& field : table.fields) types += field.type + ' ';
    CHECK(types == "string integer number boolean number ");
    CHECK(table.primary_key == std::vector<std::string>{"site"});

    const Visit visit{"K07", 3, 36, true, {}};
    const std::vector<TableCell> cells = visits().cells(visit);
    CHECK(cells == std::vector<TableCell>{std::string("K07"), std::int64_t{3}, 1.5, std::int64_t{1},
                                          std::monostate{}});
    CHECK(std::holds_alternative<std::monostate>(
        visits().cell({"K07", 3, kMissingHours, false, {}}, 2)));
}

TEST_CASE("the manual's rows follow the description, the rest of the page stays") {
    const std::string head = "Columns:\n\n";
    const std::string page = "# Tables\n\n### `other.csv`\n\n" + head + "* `x`\n\n" +
                             "### `field_visits.csv`\n\nA visit.\n\n" + head +
                             "* `old`: gone\n\nMore.\n";
    const TableDescription table = visits().description();
    const std::string now = with_described_columns(
        page, std::span(&table, 1), [](const std::string& name) { return name == "done"; });
    CHECK(now == "# Tables\n\n### `other.csv`\n\n" + head + "* `x`\n\n" +
                     "### `field_visits.csv`\n\nA visit.\n\n" + head +
                     "* `site`: recording site\n"
                     "* `cards`: cards taken in\n"
                     "* `days` (d): days out\n"
                     "* `gain` (dB): of the recorder\n\nMore.\n");
    CHECK(with_described_columns(now, std::span(&table, 1),
                                 [](const std::string& name) { return name == "done"; }) == now);
}

TEST_CASE("what a table above says of a column is not said again, where that is shorter") {
    const std::string head = "Columns:\n\n";
    const std::string page =
        "### `field_visits.csv`\n\n" + head + "\n### `days.csv`\n\n" + head + "\n";
    const auto site = [](const Visit& visit) { return visit.site; };
    const std::vector<TableDescription> tables{
        TableOf<Visit>("days.csv", "days", "A row is a day.")
            .column("site", "", "recording site", site)
            .column("cards", "1", "cards taken in", &Visit::cards)
            .column("days", "h", "days out", &Visit::hours)
            .column("done", "", "1: over", &Visit::done)
            .description(),
        visits().description()};
    const std::string now = with_described_columns(page, tables);
    CHECK(now.starts_with("### `field_visits.csv`\n\n" + head + "* `site`: recording site\n"));
    CHECK(now.ends_with("### `days.csv`\n\n" + head +
                        "* `site`, `cards`, `done`: as in `field_visits.csv`\n"
                        "* `days` (h): days out\n\n"));
    CHECK(with_described_columns(now, tables) == now);

    const std::vector<TableDescription> lone{TableOf<Visit>("days.csv", "days", "A row is a day.")
                                                 .column("done", "", "1: over", &Visit::done)
                                                 .description(),
                                             visits().description()};
    CHECK(with_described_columns(page, lone)
              .ends_with("### `days.csv`\n\n" + head + "* `done`: 1: over\n\n"));
}

// Table Schema 1.0 (Frictionless Data), type number: "INF" and "-INF" are the special values.
TEST_CASE("a table is written as it is described; open ends are INF and -INF") {
    const std::vector<Visit> rows{{"K07, upper", 100000, 36, true, 12.5},
                                  {"=K08", 0, kUnbounded, false, -kUnbounded},
                                  {"", -1, kMissingHours, false, {}}};
    const std::string bytes =
        "site,cards,days,done,gain\n\"K07, "
        "upper\",100000,1.5,1,12.5\n'=K08,0,INF,0,-INF\n,-1,,0,\n";
    CHECK(csv_of(visits(), rows) == bytes);
    const testing::TemporaryFolder folder;
    write_table(visits(), rows, folder.path() / "visits.csv");
    CHECK(read_whole_file(folder.path() / "visits.csv") == bytes);
}
