// A CSV file as every table of the program has it: UTF-8, commas, LF, a header, RFC 4180 quoting
// (base/csv_cell.h); written through AtomicFile, so that a table under its name is whole. Tables
// are written through base/table.h, which describes them.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "base/csv_cell.h"
#include "base/file.h"
#include "base/sha256.h"

namespace hearwood {

class CsvWriter {
  public:
    CsvWriter(std::filesystem::path target, std::span<const std::string> header);

    // Cells of the row under way, from left to right.
    void cell(const TableCell& cell);
    void text(std::string_view value);
    void number(double value);  ///< as append_csv_number() writes it
    void number(std::optional<double> value);
    void integer(std::int64_t value);
    void missing();
    /// Ends the row. std::logic_error when it has not as many cells as the header.
    void end_row();

    std::uint64_t rows() const { return rows_; }
    /// Syncs and renames; without it the target stays as it was. Returns bytes and SHA-256 for the
    /// data package.
    struct Written {
        std::uint64_t bytes = 0;
        std::uint64_t rows = 0;
        std::string sha256;
    };
    Written commit();

  private:
    void separate();
    void drain();

    AtomicFile file_;
    Sha256 sum_;  // of what is drained
    std::string buffer_;
    std::size_t columns_, cell_ = 0;
    std::uint64_t rows_ = 0, bytes_ = 0;
};

}  // namespace hearwood
