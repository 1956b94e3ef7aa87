// SQLite's C interface with owners for its handles and exceptions for its codes.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "base/error.h"

struct sqlite3;
struct sqlite3_stmt;

namespace hearwood {

/// The file is no SQLite database at all.
class NotADatabase : public MachineError {
  public:
    using MachineError::MachineError;
};

/// An open database file. Errors of all functions: MachineError that names the file.
class Database {
  public:
    enum class Mode {
        read_only,
        immutable,  ///< on a disk that cannot be written: no locks, no side files
        read_write,
    };
    Database(const std::filesystem::path& path, Mode mode);
    ~Database();
    Database(const Database&) = delete;
    Database& operator=(const Database&) = delete;

    /// Runs statements that give no rows, or whose rows do not matter.
    void run(const std::string& sql);
    /// First column of the first row of a query; nothing without a row.
    std::optional<std::string> one(const std::string& sql) const;
    bool in_transaction() const;
    void roll_back() noexcept;
    void wait_at_most(std::chrono::milliseconds time);
    const std::filesystem::path& path() const { return path_; }
    sqlite3* handle() const { return handle_; }
    [[noreturn]] void fail(const std::string& doing) const;

  private:
    std::filesystem::path path_;
    sqlite3* handle_ = nullptr;
};

/// A prepared statement, used again and again: bind, step, reset.
class Statement {
  public:
    Statement(const Database& database, const std::string& sql);
    ~Statement();
    Statement(const Statement&) = delete;
    Statement& operator=(const Statement&) = delete;

    // Parameters are counted from 1. Text and bytes must live until the next reset().
    void bind(int parameter, std::int64_t value);
    void bind(int parameter, double value);  ///< NaN becomes NULL
    void bind(int parameter, std::string_view text);
    void bind_bytes(int parameter, std::string_view bytes);
    void bind_null(int parameter);

    /// The next row; false at the end.
    bool step();
    void reset();
    /// For statements without rows: step to the end and reset.
    void run();

    // Columns of the row are counted from 0.
    bool is_null(int column) const;
    std::int64_t integer(int column) const;
    double number(int column) const;  ///< NaN for NULL
    std::string text(int column) const;
    std::string_view bytes(int column) const;  ///< valid until the next step()

  private:
    const Database& database_;
    sqlite3_stmt* handle_ = nullptr;
};

}  // namespace hearwood
