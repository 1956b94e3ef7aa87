// The names in a folder, and what lies below them, through the open folder itself: what is renamed
// or replaced by a link meanwhile leads nowhere else. Errors are numbers of <cerrno>, 0 for none.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "platform/file_status.h"
#include "platform/open_file.h"

namespace hearwood {

class Folder {
  public:
    /// May itself be a link to a folder. The time of last access is left alone where the system
    /// allows it.
    explicit Folder(const std::filesystem::path& path);
    Folder(Folder&&) noexcept;
    Folder& operator=(Folder&&) noexcept;
    ~Folder();

    bool is_open() const { return handle_ != nullptr; }
    /// Why it could not be opened, or why next() ended before the last name.
    int error() const { return error_; }

    /// Whether this path leads to it still, and by the same mount: another medium in the same place
    /// may have the same numbers.
    bool is_at(const std::filesystem::path& path) const;

    struct Entry {
        std::string name;      ///< raw bytes, one part of a path
        std::uint64_t number;  ///< as FileStatus::number
    };
    /// Names in the system's order, "." and ".." left out; nothing at the end, or at an error.
    std::optional<Entry> next();

    std::optional<FileStatus> status_of(const std::string& name, Links links,
                                        int* error = nullptr) const;
    /// A folder in it, which must not be a link.
    Folder subfolder(const std::string& name) const;
    OpenFile open_file(const std::string& name, OpenFor purpose, OpenHow how) const;

  private:
    struct Handle;
    Folder(int parent, const char* name, bool follow_link);

    std::unique_ptr<Handle> handle_;
    int error_ = 0;
};

}  // namespace hearwood
