// One open file: read, written and brought to the disk with no buffer in between. Calls that a
// signal breaks off are made again. Errors are numbers of <cerrno>, 0 for none.
#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>

#include "platform/file_status.h"

namespace hearwood {

enum class OpenFor {
    reading,
    writing_new,   ///< EEXIST where something has the name
    writing_anew,  ///< emptied where it is there, made where it is not
    changing,      ///< written to from its beginning; it must be there
    locking,       ///< made where it is not; see try_to_lock()
};

struct OpenHow {
    bool follow_link = true;  ///< false: ELOOP where the last part of the path is a link
    bool without_trace =
        false;  ///< the time of last access stays, where this user may ask for that
    bool never_wait =
        false;  ///< for a pipe with nobody at its other end; changes nothing for files
    bool past_memory = false;  ///< from the device, not from what the system remembers of the file:
                               ///< memory, offsets and lengths are then multiples of
                               ///< kPastMemoryUnit. EINVAL where the file system has no such way
};
constexpr std::size_t kPastMemoryUnit = 4096;

/// What came of a read or write: fewer bytes than asked for are no error, 0 of a read is the end of
/// the file.
struct Transfer {
    std::size_t bytes = 0;
    int error = 0;
};

class OpenFile {
  public:
    OpenFile(const std::filesystem::path& path, OpenFor purpose, OpenHow how);
    OpenFile(const std::filesystem::path& path, OpenFor purpose) : OpenFile(path, purpose, {}) {}
    OpenFile(OpenFile&& other) noexcept;
    OpenFile& operator=(OpenFile&& other) noexcept;
    ~OpenFile();

    bool is_open() const { return descriptor_ >= 0; }
    /// Why it could not be opened.
    int error() const { return error_; }
    /// Nothing when it cannot be looked at; `error` then says why.
    std::optional<FileStatus> status(int* error = nullptr) const;

    Transfer read(void* to, std::size_t count) const;
    Transfer read_at(std::uint64_t offset, void* to, std::size_t count) const;
    /// All of it, in as many calls as that takes; `bytes` were written before the error.
    Transfer write_all(const char* from, std::size_t count) const;
    Transfer write_all_at(std::uint64_t offset, const char* from, std::size_t count) const;
    int empty() const;
    /// Sets the time of last change. Nice to have, no more: a file system may refuse it.
    void set_modified(std::int64_t modified_ns) const;

    /// Waits until content and length are on the disk.
    int sync() const;
    /// Has the disk begin with these bytes, and waits for nothing.
    void push(std::uint64_t offset, std::uint64_t count) const;
    /// Waits for all bytes, not for length and names; errors in writing them are told here.
    int await_bytes() const;
    /// Waits for everything that was written to the file system which it lies on.
    int sync_file_system() const;
    /// Whether that does what sync() of each file would: others (in user space, and with it many a
    /// portable disk) may take the call and do nothing.
    bool syncs_as_a_whole() const;

    /// It will be read from beginning to end.
    void expect_reading_on() const;
    /// Has memory let go of what it holds of the file.
    void drop_from_memory() const;

    /// False while another program has the lock; the lock goes with the file. `error` says where
    /// the file system has none.
    bool try_to_lock(int& error) const;

    int close();

  private:
    friend class Folder;
    explicit OpenFile(int descriptor, int error) : descriptor_(descriptor), error_(error) {}

    int descriptor_ = -1;
    int error_ = 0;
};

}  // namespace hearwood
