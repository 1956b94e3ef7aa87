// Site values that anybody measured, from a sheet: `contrast --values FILE.csv`.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "base/error.h"
#include "contrast/contrast.h"
#include "contrast/nuisance.h"

namespace hearwood {

/// A line of the sheet; what has no column is empty.
struct SheetValue {
    SiteValue value;
    std::string season, date, cell;
};

/// Columns site, class, index, window, value and optionally block, in any order; others are left
/// alone. An empty value, or NA, is missing; a block column that is empty throughout counts as
/// none. With columns `season`, `date` or `cell` a line is a site in one of each. Errors:
/// InputError with every problem (a site in two classes or blocks, a value given twice, no number
/// ...).
std::vector<SheetValue> read_sheet_values(const std::filesystem::path& path);

/// A numeric column of the same sheet, a number a site; lines of a site that leave it empty do not
/// count. Nothing, and why in `problem` (one line), where a cell is no number, a site has two, or
/// all sites have the same. Errors: InputError where the sheet has no such column.
std::optional<SiteNumbers> read_site_numbers(const std::filesystem::path& path,
                                             const std::string& column, std::string& problem);

}  // namespace hearwood
