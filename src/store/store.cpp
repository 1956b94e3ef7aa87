#include "store/store.h"

#include <stdexcept>

#include "base/error.h"
#include "base/file.h"
#include "base/text.h"
#include "platform/file_status.h"
#include "store/schema.h"
#include "store/store_impl.h"

namespace hearwood {

namespace {

constexpr const char* kFolder = "hearwood";
constexpr const char* kFile = "survey.db";
constexpr const char* kLockFile = "writer.lock";

/// Pages of 8 KiB: a row of segments with its 50 numbers, and its kept spectrum, then fit well.
/// Until it is renamed into place the file is of no use to anybody: nothing of it is kept to be
/// undone, and it is brought to the disk once, as a whole.
constexpr const char* kNewFilePragmas =
    "PRAGMA page_size = 8192; PRAGMA synchronous = OFF; PRAGMA journal_mode = OFF";

/// The mode stays in the file, which so never has a journal, and that only who writes could take
/// back. Exclusive before it: memory shared through a file is not to be had on every file system.
constexpr const char* kFilledFilePragmas =
    "PRAGMA locking_mode = EXCLUSIVE; PRAGMA journal_mode = WAL";

/// A commit reaches the disk with the next checkpoint: a killed program loses nothing, a power cut
/// loses the latest commits, and neither spoils the file.
/// What a statement keeps to undo itself stays in memory: it is small, would cost several writes a
/// row, and nothing is to be written outside the survey.
constexpr const char* kWriterPragmas =
    "PRAGMA journal_mode = WAL; PRAGMA synchronous = NORMAL; PRAGMA cache_size = -8000; "
    "PRAGMA temp_store = MEMORY";

/// True for what a killed run of an early version may have left: a file with nothing in it.
bool holds_nothing(const std::filesystem::path& file) {
    std::error_code error;
    if (std::filesystem::file_size(file, error) == 0 && !error) return true;
    try {
        const Database database(file, Database::Mode::read_only);
        return database.one("PRAGMA application_id") == "0" &&
               !database.one("SELECT name FROM sqlite_schema LIMIT 1");
    } catch (const MachineError&) {
        return false;  // damaged or none: for the caller to tell
    }
}

/// Makes the file whole under another name first: a kill, a power cut or a full disk leaves none
/// rather than a half. REQUIRES the writer's lock.
void make_if_missing(const std::filesystem::path& file) {
    std::error_code error;
    if (std::filesystem::exists(file, error) && !holds_nothing(file)) return;
    const std::filesystem::path fresh = file.string() + ".new";
    // A log beside it would be that of another database.
    for (const auto& stem : {file, fresh})
        for (const char* side : {"-wal", "-shm", "-journal"})
            std::filesystem::remove(stem.string() + side, error);
    std::filesystem::remove(fresh, error);
    {
        Database database(fresh, Database::Mode::read_write);
        database.run(kNewFilePragmas);
        create_schema(database);
        database.run(kFilledFilePragmas);
    }
    sync_file(fresh);
    std::filesystem::rename(fresh, file, error);
    if (error)
        throw_machine_error(file, "cannot rename into place", error.value(),
                            "check the disk's free space and health, then run again");
    sync_folder(file.parent_path());
}

/// A kill while a database still kept a journal left one beside it. Reading cannot take it back:
/// the first connection that may write does.
void take_back_journal(const std::filesystem::path& file) {
    std::error_code error;
    if (!std::filesystem::exists(file.string() + "-journal", error) || !may_write_to(file) ||
        !may_write_to(file.parent_path()) || !has_our_mark(file))
        return;
    Database(file, Database::Mode::read_write).one("PRAGMA schema_version");
}

/// Read-only, also where SQLite cannot make its side files (a disk that is mounted read-only).
Database::Mode reading_mode(const std::filesystem::path& file) {
    const bool writable = may_write_to(file.parent_path());
    return writable ? Database::Mode::read_only : Database::Mode::immutable;
}

}  // namespace

void Store::Impl::require_transaction() const {
    if (!writes || !database.in_transaction())
        throw std::logic_error("the store is written to outside a transaction");
}

Store::Store(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}
Store::Store(Store&&) noexcept = default;
Store& Store::operator=(Store&&) noexcept = default;
Store::~Store() = default;

std::filesystem::path Store::path_in(const std::filesystem::path& survey_folder) {
    return survey_folder / kFolder / kFile;
}

bool Store::exists(const std::filesystem::path& survey_folder) {
    std::error_code ignored;
    return std::filesystem::exists(path_in(survey_folder), ignored) &&
           !holds_nothing(path_in(survey_folder));
}

Store Store::open_locked(const std::filesystem::path& survey_folder,
                         std::unique_ptr<WriterLock> lock) {
    make_if_missing(path_in(survey_folder));
    auto impl =
        std::make_unique<Impl>(std::move(lock), path_in(survey_folder), Database::Mode::read_write);
    require_schema(impl->database, true);
    impl->database.run(kWriterPragmas);
    impl->columns = segment_columns(impl->database);
    return Store(std::move(impl));
}

Store Store::open(const std::filesystem::path& survey_folder) {
    make_folder(survey_folder / kFolder);
    return open_locked(survey_folder,
                       std::make_unique<WriterLock>(survey_folder / kFolder / kLockFile));
}

std::optional<Store> Store::open_if_free(const std::filesystem::path& survey_folder) {
    make_folder(survey_folder / kFolder);
    auto lock = WriterLock::if_free(survey_folder / kFolder / kLockFile);
    if (!lock) return std::nullopt;
    return open_locked(survey_folder, std::move(lock));
}

Store Store::open_read_only(const std::filesystem::path& survey_folder) {
    if (!exists(survey_folder))
        throw InputError(printable(survey_folder.string()) + ": nothing has been measured yet",
                         "run 'hearwood measure' first");
    return open_part_read_only(path_in(survey_folder));
}

Store Store::open_part(const std::filesystem::path& file) {
    make_folder(file.parent_path());
    auto lock = std::make_unique<WriterLock>(file.string() + ".lock");
    make_if_missing(file);
    auto impl = std::make_unique<Impl>(std::move(lock), file, Database::Mode::read_write);
    // Exclusive before WAL: then no memory is shared through a file, which network file systems
    // cannot do.
    impl->database.run("PRAGMA locking_mode = EXCLUSIVE");
    require_schema(impl->database, true);
    impl->database.run(kWriterPragmas);
    impl->columns = segment_columns(impl->database);
    return Store(std::move(impl));
}

Store Store::open_part_read_only(const std::filesystem::path& file) {
    take_back_journal(file);
    auto impl = std::make_unique<Impl>(nullptr, file, reading_mode(file));
    require_schema(impl->database, false);
    impl->columns = segment_columns(impl->database);
    return Store(std::move(impl));
}

Store Store::open_snapshot(const std::filesystem::path& survey_folder) {
    auto impl = std::make_unique<Impl>(nullptr, path_in(survey_folder), Database::Mode::immutable);
    require_schema(impl->database, false);
    impl->columns = segment_columns(impl->database);
    return Store(std::move(impl));
}

Store Store::open_or_empty(const std::filesystem::path& survey_folder) {
    return exists(survey_folder) ? open_read_only(survey_folder) : empty();
}

Store Store::empty() {
    auto impl = std::make_unique<Impl>(nullptr, ":memory:", Database::Mode::read_write);
    create_schema(impl->database);
    return Store(std::move(impl));
}

void Store::begin() {
    impl_->database.run("BEGIN IMMEDIATE");
}

void Store::commit() {
    impl_->database.run("COMMIT");
}

void Store::roll_back() noexcept {
    impl_->database.roll_back();
}

void Store::make_durable() {
    // A checkpoint would wait for readers. What the log holds is found in it at the next opening.
    std::error_code ignored;
    const std::filesystem::path log = impl_->database.path().string() + "-wal";
    if (!std::filesystem::exists(log, ignored)) return;
    sync_file(log);
    sync_folder(log.parent_path());
}

void Store::settle() {
    impl_->database.run("PRAGMA wal_checkpoint(PASSIVE)");
}

void Store::wait_at_most(std::chrono::milliseconds time) {
    impl_->database.wait_at_most(time);
}

std::optional<StoredSettings> Store::settings() const {
    Statement statement(impl_->database, "SELECT hash, json, measuring_version FROM settings");
    if (!statement.step()) return std::nullopt;
    return StoredSettings{statement.text(0), statement.text(1),
                          static_cast<int>(statement.integer(2)), impl_->columns};
}

void Store::replace_settings(const StoredSettings& settings) {
    impl_->require_transaction();
    impl_->forget_segment_statements();
    Database& database = impl_->database;
    database.run(
        "DROP TABLE IF EXISTS segments; DELETE FROM spectra; DELETE FROM sounds; DELETE FROM even");
    database.run(
        "UPDATE recordings SET settings = NULL, state = 'not measured', reason = '', "
        "spoilt_segments = 0 "
        "WHERE settings IS NOT NULL");
    database.run("DELETE FROM settings");
    create_segments(database, settings.columns);
    Statement statement(database,
                        "INSERT INTO settings (hash, json, measuring_version) VALUES (?, ?, ?)");
    statement.bind(1, settings.hash);
    statement.bind(2, settings.json);
    statement.bind(3, std::int64_t{settings.version});
    statement.run();
    impl_->columns = settings.columns;
}

std::string Store::note(std::string_view key) const {
    Statement statement(impl_->database, "SELECT value FROM notes WHERE key = ?");
    statement.bind(1, key);
    return statement.step() ? statement.text(0) : std::string();
}

void Store::set_note(std::string_view key, std::string_view value) {
    impl_->require_transaction();
    Statement statement(impl_->database, "INSERT OR REPLACE INTO notes (key, value) VALUES (?, ?)");
    statement.bind(1, key);
    statement.bind(2, value);
    statement.run();
}

std::optional<KeptResult> Store::kept_result(std::string_view name) const {
    // A file of version 1 that is only read has no such table.
    if (!impl_->database.one("SELECT name FROM sqlite_schema WHERE name = 'results'"))
        return std::nullopt;
    Statement statement(impl_->database, "SELECT fingerprint, json FROM results WHERE name = ?");
    statement.bind(1, name);
    if (!statement.step()) return std::nullopt;
    return KeptResult{std::string(name), statement.text(0), statement.text(1)};
}

void Store::keep_result(const KeptResult& result) {
    impl_->require_transaction();
    Statement statement(
        impl_->database,
        "INSERT OR REPLACE INTO results (name, fingerprint, json) VALUES (?, ?, ?)");
    statement.bind(1, result.name);
    statement.bind(2, result.fingerprint);
    statement.bind(3, result.json);
    statement.run();
}

std::vector<std::string> Store::integrity_problems() const {
    std::vector<std::string> problems;
    Statement check(impl_->database, "PRAGMA integrity_check(20)");
    while (check.step())
        if (check.text(0) != "ok") problems.push_back(check.text(0));
    Statement references(
        impl_->database,
        "SELECT DISTINCT \"table\", parent FROM pragma_foreign_key_check LIMIT 20");
    while (references.step())
        problems.push_back("rows of " + references.text(0) + " refer to missing rows of " +
                           references.text(1));
    return problems;
}

void keep_results(const std::filesystem::path& survey_folder, std::span<const KeptResult> results) {
    Store store = Store::open(survey_folder);
    store.begin();
    for (const KeptResult& result : results) store.keep_result(result);
    store.commit();
    store.make_durable();
}

}  // namespace hearwood
