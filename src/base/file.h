// Files that exist under their name only when they are whole.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

#include "platform/open_file.h"

namespace hearwood {

/// When the bytes must be safe on the disk: with the file, or with the sync_file_system() that
/// follows many files which can all be made again.
enum class Sync { now, later };

/// Writes under a temporary name beside the target; commit() syncs, closes, renames over the target
/// and syncs the folder. Without commit() the temporary file is removed and the target is
/// untouched. Errors: MachineError with path and reason.
class AtomicFile {
  public:
    explicit AtomicFile(std::filesystem::path target);
    ~AtomicFile();
    AtomicFile(const AtomicFile&) = delete;
    AtomicFile& operator=(const AtomicFile&) = delete;

    void write(std::string_view bytes);
    /// Replaces bytes already written: for sizes in headers, known only at the end.
    void overwrite(std::uint64_t offset, std::string_view bytes);
    /// What was written so far is on the disk, still under its temporary name.
    void sync();
    void commit(Sync sync = Sync::now);
    /// Where the bytes stand until commit(): for libraries that write to a path themselves.
    const std::filesystem::path& temporary_path() const { return temporary_; }

  private:
    void flush();

    std::filesystem::path target_;
    std::filesystem::path temporary_;
    std::string buffer_;
    OpenFile file_;
};

/// The whole file, at most `limit` bytes. Errors: InputError when it cannot be opened or is larger.
std::string read_whole_file(const std::filesystem::path& path, std::uint64_t limit = 256u << 20);

/// Writes the file in one go through AtomicFile.
void write_whole_file(const std::filesystem::path& path, std::string_view bytes,
                      Sync sync = Sync::now);

/// Makes the folder and its parents; MachineError when that fails.
void make_folder(const std::filesystem::path& path);

/// Flushes the folder's own entry to the disk.
void sync_folder(const std::filesystem::path& path);

/// Flushes what was written to a file by whomever. Errors: MachineError.
void sync_file(const std::filesystem::path& path);

/// Flushes all that was written to the folder's file system. Errors: MachineError.
void sync_file_system(const std::filesystem::path& folder);

}  // namespace hearwood
