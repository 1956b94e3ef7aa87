#include "contrast/values_sheet.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <utility>

#include "base/sheet.h"
#include "base/text.h"

namespace hearwood {

namespace {

constexpr std::array<const char*, 5> kRequired{"site", "class", "index", "window", "value"};

/// Sums of squares of far more sites than anybody has stay finite.
constexpr double kLargestValue = 1e140;

struct Columns {
    std::size_t site, stand, index, window, value;
    std::optional<std::size_t> block, season, date, cell;
};

std::optional<Columns> find_columns(const Sheet& sheet, std::vector<Problem>& problems) {
    std::array<std::size_t, 5> places{};
    bool whole = true;
    for (std::size_t i = 0; i < kRequired.size(); ++i) {
        const std::optional<std::size_t> place = sheet.column(kRequired[i]);
        places[i] = place.value_or(0);
        if (place) continue;
        whole = false;
        Problem problem;
        problem.file = sheet.file;
        problem.line = sheet.header_line;
        problem.field = kRequired[i];
        problem.what = "this column is missing";
        const std::optional<std::string> near = nearest(kRequired[i], sheet.header);
        problem.fix =
            near ? fmt::format("rename the column '{}' to '{}'", *near, kRequired[i])
                 : "the first line must name site, class, index, window, value and may name block";
        problems.push_back(problem);
    }
    if (!whole) return std::nullopt;
    return Columns{places[0],
                   places[1],
                   places[2],
                   places[3],
                   places[4],
                   sheet.column("block"),
                   sheet.column("season"),
                   sheet.column("date"),
                   sheet.column("cell")};
}

/// Checks row by row what only the whole sheet can tell: one class and block a site, one value an
/// outcome.
class ValuesReader {
  public:
    ValuesReader(const Sheet& sheet, const Columns& columns, std::vector<Problem>& problems)
        : sheet_(sheet), columns_(columns), problems_(problems) {
        const auto filled_anywhere = [&](const std::optional<std::size_t>& column) {
            return column &&
                   std::any_of(sheet.rows.begin(), sheet.rows.end(),
                               [&](const auto& row) { return !row.cells[*column].empty(); });
        };
        has_blocks_ = filled_anywhere(columns.block);
        has_dates_ = filled_anywhere(columns.date);
        has_cells_ = filled_anywhere(columns.cell);
    }

    std::optional<SheetValue> take(const SheetRow& row) {
        if (!filled(row)) return std::nullopt;
        SheetValue line;
        SiteValue& value = line.value;
        value.index = row.cells[columns_.index];
        value.window = row.cells[columns_.window];
        value.unit.site = row.cells[columns_.site];
        value.unit.stand = row.cells[columns_.stand];
        if (has_blocks_) value.unit.block = row.cells[*columns_.block];
        value.unit.value = number(row);
        const auto cell = [&](const std::optional<std::size_t>& column) {
            return column ? row.cells[*column] : std::string();
        };
        line.season = cell(columns_.season);
        line.date = cell(columns_.date);
        line.cell = cell(columns_.cell);
        check_once(row, line);
        check_site(row, value.unit);
        return line;
    }

  private:
    void complain(const SheetRow& row, std::size_t column, std::string what, std::string fix) {
        problems_.push_back(sheet_problem(sheet_, row, column, std::move(what), std::move(fix)));
    }

    bool filled(const SheetRow& row) {
        bool whole = true;
        const auto need = [&](std::size_t column, const char* fix) {
            if (!row.cells[column].empty()) return;
            complain(row, column, "this field is empty", fix);
            whole = false;
        };
        need(columns_.site, "name the site the value belongs to");
        need(columns_.stand, "write the class of the site");
        need(columns_.index, "name what was measured");
        need(columns_.window, "name the part of the day, or write 'all'");
        if (has_blocks_)
            need(*columns_.block, "give every site a block, or leave the whole column empty");
        if (has_dates_)
            need(*columns_.date, "give every line its date, or leave the whole column empty");
        if (has_cells_)
            need(*columns_.cell, "give every line its cell, or leave the whole column empty");
        return whole;
    }

    double number(const SheetRow& row) {
        const std::string& cell = row.cells[columns_.value];
        if (cell == "NA") return kMissing;
        const double value =
            number_or_problem(sheet_, row, columns_.value, problems_).value_or(kMissing);
        if (std::abs(value) > kLargestValue)
            complain(row, columns_.value, "too large to be squared and summed",
                     "write it in a larger unit");
        return value;
    }

    void check_once(const SheetRow& row, const SheetValue& line) {
        const SiteValue& value = line.value;
        const auto [place, fresh] =
            lines_.emplace(std::array{value.index, value.window, value.unit.site, line.season,
                                      line.date, line.cell},
                           row.line);
        if (!fresh)
            complain(row, columns_.site,
                     fmt::format("this site has a value of {} in {} already, on line {}",
                                 printable(value.index), printable(value.window), place->second),
                     "a site counts once: keep one line, or average them first");
    }

    void check_site(const SheetRow& row, const Unit& unit) {
        const auto [place, fresh] = sites_.emplace(unit.site, std::pair{unit, row.line});
        if (fresh) return;
        const auto& [first, line] = place->second;
        if (first.stand != unit.stand)
            complain(
                row, columns_.stand,
                fmt::format("this site is of class '{}' on line {}", printable(first.stand), line),
                "a site has one class: correct one of the two lines");
        if (first.block != unit.block)
            complain(
                row, *columns_.block,
                fmt::format("this site is in block '{}' on line {}", printable(first.block), line),
                "a site has one block: correct one of the two lines");
    }

    const Sheet& sheet_;
    const Columns& columns_;
    std::vector<Problem>& problems_;
    bool has_blocks_ = false, has_dates_ = false, has_cells_ = false;
    std::map<std::array<std::string, 6>, std::size_t> lines_;
    std::map<std::string, std::pair<Unit, std::size_t>> sites_;
};

std::size_t column_or_refuse(const Sheet& sheet, const std::string& column) {
    if (const auto place = sheet.column(column)) return *place;
    const std::optional<std::string> near = nearest(column, sheet.header);
    throw InputError(fmt::format("{} has no column '{}'", printable(sheet.file), printable(column)),
                     near ? fmt::format("did you mean '{}'?", printable(*near))
                          : "name a column of its first line");
}

}  // namespace

std::optional<SiteNumbers> read_site_numbers(const std::filesystem::path& path,
                                             const std::string& column, std::string& problem) {
    std::vector<Problem> problems;
    const Sheet sheet = read_sheet(path, path.string(), problems);
    const std::size_t place = column_or_refuse(sheet, column);
    const std::size_t site = column_or_refuse(sheet, "site");
    SiteNumbers numbers{column, {}};
    for (const SheetRow& row : sheet.rows) {
        problems.clear();
        const std::optional<double> value = number_or_problem(sheet, row, place, problems);
        if (!problems.empty()) {
            problem = one_line(problems.front());
            return std::nullopt;
        }
        if (!value) continue;
        const auto [known, fresh] = numbers.of_site.emplace(row.cells[site], *value);
        if (fresh || known->second == *value) continue;
        problem =
            one_line(sheet_problem(sheet, row, place, "this site has another number further up",
                                   "a site has one number in this column"));
        return std::nullopt;
    }
    const bool varies = std::any_of(numbers.of_site.begin(), numbers.of_site.end(), [&](auto& one) {
        return one.second != numbers.of_site.begin()->second;
    });
    if (varies) return numbers;
    problem = fmt::format(
        "{} ({}): {}", printable(sheet.file), printable(column),
        numbers.of_site.empty() ? "no site has a number" : "all sites have the same number");
    return std::nullopt;
}

std::vector<SheetValue> read_sheet_values(const std::filesystem::path& path) {
    std::vector<Problem> problems;
    const Sheet sheet = read_sheet(path, path.string(), problems);
    std::vector<SheetValue> values;
    if (!sheet.header.empty()) {
        if (const std::optional<Columns> columns = find_columns(sheet, problems)) {
            ValuesReader reader(sheet, *columns, problems);
            for (const SheetRow& row : sheet.rows)
                if (std::optional<SheetValue> value = reader.take(row))
                    values.push_back(std::move(*value));
        }
    }
    if (any_error(problems)) throw InputError(std::move(problems));
    return values;
}

}  // namespace hearwood
