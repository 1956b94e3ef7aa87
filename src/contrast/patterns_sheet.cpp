// The sheet of `contrast --profiles`.
#include <fmt/core.h>

#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <set>

#include "base/missing.h"
#include "base/sheet.h"
#include "base/text.h"
#include "contrast/patterns.h"

namespace hearwood {

namespace {

constexpr std::array<const char*, 6> kColumns{"site",   "class",   "hour",
                                              "low_hz", "high_hz", "value"};
enum Field { kSite, kClass, kHour, kLow, kHigh, kValue };

class PatternsReader {
  public:
    PatternsReader(const Sheet& sheet, std::vector<Problem>& problems)
        : sheet_(sheet), problems_(problems), block_(sheet.column("block")) {}

    bool find_columns() {
        for (std::size_t i = 0; i < kColumns.size(); ++i) {
            if (const auto column = sheet_.column(kColumns[i])) {
                columns_[i] = *column;
                continue;
            }
            Problem problem;
            problem.file = sheet_.file;
            problem.line = sheet_.header_line;
            problem.field = kColumns[i];
            problem.what = "this column is missing";
            problem.fix =
                "the first line must name site, class, hour, low_hz, high_hz and value, and may "
                "name block";
            problems_.push_back(problem);
            whole_ = false;
        }
        return whole_;
    }

    void take(const SheetRow& row) {
        if (!filled(row)) return;
        Unit unit{row.cells[columns_[kSite]], row.cells[columns_[kClass]],
                  block_ ? row.cells[*block_] : "", 0};
        const auto cell = cell_of(row);
        const std::size_t before = problems_.size();
        const auto value = row.cells[columns_[kValue]] == "NA"
                               ? std::nullopt
                               : number_or_problem(sheet_, row, columns_[kValue], problems_);
        if (!cell || problems_.size() > before) return;
        const auto [site, fresh] = sites_.emplace(unit.site, unit);
        if (!fresh && (site->second.stand != unit.stand || site->second.block != unit.block))
            complain(row, kSite, "this site is of another class or block further up",
                     "a site has one class and one block: correct one of the lines");
        cells_.insert(*cell);
        if (!values_.emplace(std::pair{*cell, unit.site}, value.value_or(kMissing)).second)
            complain(row, kSite, "this site has a value of this hour and band already",
                     "keep one line a site, hour and band");
    }

    Patterns finish() const {
        Patterns patterns;
        for (const auto& [name, unit] : sites_) patterns.sites.push_back(unit);
        patterns.cells.assign(cells_.begin(), cells_.end());
        for (const PatternCell& cell : patterns.cells) {
            std::vector<double>& row = patterns.values.emplace_back();
            for (const Unit& unit : patterns.sites) {
                const auto found = values_.find({cell, unit.site});
                row.push_back(found == values_.end() ? kMissing : found->second);
            }
        }
        return patterns;
    }

  private:
    void complain(const SheetRow& row, Field column, std::string what, std::string fix) {
        problems_.push_back(
            sheet_problem(sheet_, row, columns_[column], std::move(what), std::move(fix)));
    }

    bool filled(const SheetRow& row) {
        for (const Field column : {kSite, kClass, kHour, kLow, kHigh}) {
            if (!row.cells[columns_[column]].empty()) continue;
            complain(row, column, "this field is empty", "fill it in, or remove the line");
            return false;
        }
        return true;
    }

    std::optional<PatternCell> cell_of(const SheetRow& row) {
        const auto hour = number_or_problem(sheet_, row, columns_[kHour], problems_);
        const auto low = number_or_problem(sheet_, row, columns_[kLow], problems_);
        const auto high = number_or_problem(sheet_, row, columns_[kHigh], problems_);
        if (!hour || !low || !high) return std::nullopt;
        if (*hour != std::floor(*hour) || *hour < 0 || *hour > 23) {
            complain(row, kHour, "no hour of the day", "hours are whole numbers from 0 to 23");
            return std::nullopt;
        }
        if (!(*low >= 0 && *low < *high)) {
            complain(row, kHigh, "this band ends where it begins or below",
                     "low_hz must be 0 or more and below high_hz");
            return std::nullopt;
        }
        return PatternCell{static_cast<int>(*hour), *low, *high};
    }

    const Sheet& sheet_;
    std::vector<Problem>& problems_;
    std::optional<std::size_t> block_;
    std::array<std::size_t, kColumns.size()> columns_{};
    bool whole_ = true;
    std::map<std::string, Unit> sites_;
    std::set<PatternCell> cells_;
    std::map<std::pair<PatternCell, std::string>, double> values_;
};

}  // namespace

Patterns read_patterns(const std::filesystem::path& path) {
    std::vector<Problem> problems;
    const Sheet sheet = read_sheet(path, path.string(), problems);
    PatternsReader reader(sheet, problems);
    if (!sheet.header.empty() && reader.find_columns())
        for (const SheetRow& row : sheet.rows) reader.take(row);
    if (any_error(problems)) throw InputError(std::move(problems));
    Patterns patterns = reader.finish();
    if (patterns.cells.empty())
        throw InputError(printable(path.string()) + ": no values",
                         "one line for each site, hour and band below the header");
    return patterns;
}

}  // namespace hearwood
