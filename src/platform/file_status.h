// What lies under a name, and names changed as a whole. Errors are numbers of <cerrno>, 0 for none;
// what one means to the user is for the caller to say.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>

namespace hearwood {

enum class FileKind { regular, folder, link, block_device, other };

struct FileStatus {
    FileKind kind = FileKind::other;
    std::uint64_t size = 0;        ///< bytes
    std::int64_t modified_ns = 0;  ///< since 1970, UTC
    std::uint64_t device = 0;      ///< what it lies on
    std::uint64_t number =
        0;  ///< of the file there: with `device`, which file it is by whatever name
    std::uint64_t stands_for =
        0;  ///< of a block device: the number that things on it have as `device`

    bool is_regular() const { return kind == FileKind::regular; }
    bool is_folder() const { return kind == FileKind::folder; }
};

/// Whether a link as the last part of a path stands for what it leads to.
enum class Links { follow, look_at_link };

/// Nothing when it cannot be looked at; `error` then says why.
std::optional<FileStatus> status_of(const std::filesystem::path& path, Links links,
                                    int* error = nullptr);

/// May this user write there?
bool may_write_to(const std::filesystem::path& path);

/// EEXIST where something has the name.
int error_of_making_folder(const std::filesystem::path& path);
void remove_name(const std::filesystem::path& path) noexcept;

/// In one step: at every moment the new name is what it was or what it will be.
int error_of_rename(const std::filesystem::path& from, const std::filesystem::path& to);
/// The same where nothing has the new name, else EEXIST. On a file system that knows no such step
/// it looks first.
int error_of_rename_to_new(const std::filesystem::path& from, const std::filesystem::path& to);

}  // namespace hearwood
