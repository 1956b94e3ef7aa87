#include "store/sqlite.h"

#include <sqlite3.h>

#include "base/error.h"
#include "base/missing.h"
#include "base/text.h"

namespace hearwood {

namespace {

/// How long a statement waits for another program's lock before it gives up.
constexpr int kBusyMilliseconds = 60'000;

std::string fix_of(int code) {
    switch (code & 0xff) {
        case SQLITE_FULL:
            return "free space and run the command again";
        case SQLITE_CORRUPT:
        case SQLITE_NOTADB:
            return "the file is damaged, the recordings are untouched: docs/troubleshooting.md "
                   "says "
                   "how to build it anew";
        case SQLITE_READONLY:
        case SQLITE_CANTOPEN:
            return "check that the folder is there and that you may write to it";
        case SQLITE_BUSY:
            return "another program holds the file: wait for it and run again";
        default:
            return "what was finished is kept: run the command again";
    }
}

/// Immutable files are named by a URI; its reserved characters are escaped.
std::string uri_of(const std::string& path) {
    std::string uri = "file:";
    for (const char c : path) {
        if (c == '?')
            uri += "%3f";
        else if (c == '#')
            uri += "%23";
        else if (c == '%')
            uri += "%25";
        else
            uri += c;
    }
    return uri + "?immutable=1";
}

}  // namespace

Database::Database(const std::filesystem::path& path, Mode mode) : path_(path) {
    const std::string name =
        mode == Mode::immutable ? uri_of(std::filesystem::absolute(path).string()) : path.string();
    int flags = SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE;
    flags |= mode == Mode::read_write ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE
                                      : SQLITE_OPEN_READONLY;
    if (mode == Mode::immutable) flags |= SQLITE_OPEN_URI;
    if (sqlite3_open_v2(name.c_str(), &handle_, flags, nullptr) != SQLITE_OK) {
        const int code = handle_ ? sqlite3_extended_errcode(handle_) : SQLITE_NOMEM;
        const std::string reason = handle_ ? sqlite3_errmsg(handle_) : "out of memory";
        sqlite3_close(handle_);
        throw MachineError(printable(path.string()) + ": cannot be opened: " + reason + "; " +
                           fix_of(code));
    }
    sqlite3_busy_timeout(handle_, kBusyMilliseconds);
}

Database::~Database() {
    sqlite3_close(handle_);
}

void Database::fail(const std::string& doing) const {
    const int code = sqlite3_extended_errcode(handle_);
    const std::string line = printable(path_.string()) + ": cannot " + doing + ": " +
                             sqlite3_errmsg(handle_) + "; " + fix_of(code);
    if ((code & 0xff) == SQLITE_NOTADB) throw NotADatabase(line);
    throw MachineError(line);
}

void Database::run(const std::string& sql) {
    if (sqlite3_exec(handle_, sql.c_str(), nullptr, nullptr, nullptr) != SQLITE_OK) fail("write");
}

std::optional<std::string> Database::one(const std::string& sql) const {
    Statement statement(*this, sql);
    if (!statement.step()) return std::nullopt;
    return statement.text(0);
}

void Database::roll_back() noexcept {
    if (in_transaction()) sqlite3_exec(handle_, "ROLLBACK", nullptr, nullptr, nullptr);
}

void Database::wait_at_most(std::chrono::milliseconds time) {
    sqlite3_busy_timeout(handle_, static_cast<int>(time.count()));
}

bool Database::in_transaction() const {
    return sqlite3_get_autocommit(handle_) == 0;
}

Statement::Statement(const Database& database, const std::string& sql) : database_(database) {
    if (sqlite3_prepare_v3(database.handle(), sql.c_str(), static_cast<int>(sql.size()),
                           SQLITE_PREPARE_PERSISTENT, &handle_, nullptr) != SQLITE_OK)
        database.fail("be used");
}

Statement::~Statement() {
    sqlite3_finalize(handle_);
}

void Statement::bind(int parameter, std::int64_t value) {
    if (sqlite3_bind_int64(handle_, parameter, value) != SQLITE_OK) database_.fail("write");
}

void Statement::bind(int parameter, double value) {
    if (is_missing(value)) return bind_null(parameter);
    if (sqlite3_bind_double(handle_, parameter, value) != SQLITE_OK) database_.fail("write");
}

void Statement::bind(int parameter, std::string_view text) {
    // A view of nothing may have no address, which SQLite would take for NULL.
    const char* start = text.empty() ? "" : text.data();
    if (sqlite3_bind_text64(handle_, parameter, start, text.size(), SQLITE_STATIC, SQLITE_UTF8) !=
        SQLITE_OK)
        database_.fail("write");
}

void Statement::bind_bytes(int parameter, std::string_view bytes) {
    if (sqlite3_bind_blob64(handle_, parameter, bytes.empty() ? "" : bytes.data(), bytes.size(),
                            SQLITE_STATIC) != SQLITE_OK)
        database_.fail("write");
}

void Statement::bind_null(int parameter) {
    if (sqlite3_bind_null(handle_, parameter) != SQLITE_OK) database_.fail("write");
}

bool Statement::step() {
    const int code = sqlite3_step(handle_);
    if (code == SQLITE_ROW) return true;
    if (code == SQLITE_DONE) return false;
    database_.fail(sqlite3_stmt_readonly(handle_) ? "be read" : "write");
}

void Statement::reset() {
    sqlite3_reset(handle_);
    sqlite3_clear_bindings(handle_);
}

void Statement::run() {
    while (step()) {
    }
    reset();
}

bool Statement::is_null(int column) const {
    return sqlite3_column_type(handle_, column) == SQLITE_NULL;
}

std::int64_t Statement::integer(int column) const {
    return sqlite3_column_int64(handle_, column);
}

double Statement::number(int column) const {
    return is_null(column) ? kMissing : sqlite3_column_double(handle_, column);
}

std::string Statement::text(int column) const {
    const unsigned char* text = sqlite3_column_text(handle_, column);
    if (!text) return {};
    return std::string(reinterpret_cast<const char*>(text),
                       static_cast<std::size_t>(sqlite3_column_bytes(handle_, column)));
}

std::string_view Statement::bytes(int column) const {
    const void* data = sqlite3_column_blob(handle_, column);
    if (!data) return {};
    return {static_cast<const char*>(data),
            static_cast<std::size_t>(sqlite3_column_bytes(handle_, column))};
}

}  // namespace hearwood
