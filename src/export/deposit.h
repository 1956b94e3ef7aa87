// A folder fit for an archive: tables, sheets, methods, page, in open standards, and a README that
// says what was done to the data (docs/deposit.md).
#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "base/table.h"
#include "survey/survey.h"

namespace hearwood {

class Store;

struct DepositOptions {
    std::filesystem::path out;      ///< not there yet, or empty; OUT.zip: one zip archive
    std::optional<double> coarsen;  ///< degrees, of every site; else of sensitive ones alone
    bool recordings = false;        ///< copy these too
    int jobs = 1;
    bool quiet = false;
};

/// What a recording was left out for: path and clause.
using LeftBehind = std::pair<std::string, std::string>;

struct DepositSummary {
    std::size_t files = 0;
    std::uint64_t bytes = 0;
    std::size_t coarse_sites = 0, recordings = 0;
    std::vector<LeftBehind> left_behind;
    bool interrupted = false;
};

/// Writes it; SHA256SUMS comes last, so that a deposit without one is not whole. A .zip is written
/// as a folder beside it first, OUT.zip.part, which goes when the archive is whole. `results`
/// describes the tables of later stages than tabulate. Errors: InputError for a folder that is not
/// empty, and where there are no tables yet; MachineError.
DepositSummary write_deposit(const Survey& survey, const Store& store,
                             const DepositOptions& options,
                             std::span<const TableDescription> results);

struct DepositCheck {
    std::size_t files = 0, tables = 0, rows = 0;
    std::vector<std::string> problems;  ///< one line each
};
/// Reads all of it back, a folder or a .zip: sums, what the data package says of its tables, XML
/// that is well formed, the files that every deposit has. Errors: InputError when it is no deposit;
/// MachineError when a part of it cannot be read.
DepositCheck check_deposit(const std::filesystem::path& place);

}  // namespace hearwood
