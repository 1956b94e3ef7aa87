// At most one program writes to a survey: advisory locks on small files beside the database. The
// system lets go of them when the program ends, however it ends.
#pragma once

#include <filesystem>
#include <memory>

#include "platform/open_file.h"

namespace hearwood {

class WriterLock {
  public:
    /// Takes the lock. While another program has it: says so once on stderr, with its process
    /// number, and waits. Errors: InputError when Ctrl-C ends the waiting; MachineError when the
    /// file system has no locks.
    explicit WriterLock(const std::filesystem::path& file);
    /// Without waiting: nothing while another program has it. Errors as above.
    static std::unique_ptr<WriterLock> if_free(const std::filesystem::path& file);
    WriterLock(const WriterLock&) = delete;
    WriterLock& operator=(const WriterLock&) = delete;

  private:
    struct Unlocked {};
    WriterLock(const std::filesystem::path& file, Unlocked);
    /// False while another program has it.
    bool try_to_lock(const std::filesystem::path& file);
    OpenFile file_;
};

/// The turn to write what is made from the database: tables, page, sheets to print or to listen by.
/// Held until all of it stands, so that two programs cannot mix theirs; the database itself has its
/// own lock, and a program that needs both takes that one first. The file is hearwood/results.lock.
std::unique_ptr<WriterLock> lock_results(const std::filesystem::path& survey_folder);

}  // namespace hearwood
