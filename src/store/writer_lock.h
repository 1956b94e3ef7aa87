// At most one program writes to a survey: an advisory lock on a small file beside the database. The
// system lets go of it when the program ends, however it ends.
#pragma once

#include <filesystem>

namespace hearwood {

class WriterLock {
  public:
    /// Takes the lock. While another program has it: says so once on stderr, with its process
    /// number, and waits. Errors: InputError when Ctrl-C ends the waiting; MachineError when the
    /// file system has no locks.
    explicit WriterLock(const std::filesystem::path& file);
    ~WriterLock();
    WriterLock(const WriterLock&) = delete;
    WriterLock& operator=(const WriterLock&) = delete;

  private:
    int descriptor_ = -1;
};

}  // namespace hearwood
