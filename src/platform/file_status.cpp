#include "platform/file_status.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>

#include "platform/posix_status.h"

namespace hearwood {
namespace {

FileKind kind_of(mode_t mode) {
    if (S_ISREG(mode)) return FileKind::regular;
    if (S_ISDIR(mode)) return FileKind::folder;
    if (S_ISLNK(mode)) return FileKind::link;
    return S_ISBLK(mode) ? FileKind::block_device : FileKind::other;
}

/// EINVAL, ENOSYS or EOPNOTSUPP where the file system knows no such rename.
int error_of_careful_rename(const char* from, const char* to) {
#ifdef __APPLE__  // not tried
    return ::renamex_np(from, to, RENAME_EXCL) == 0 ? 0 : errno;
#elif defined(RENAME_NOREPLACE)
    return ::renameat2(AT_FDCWD, from, AT_FDCWD, to, RENAME_NOREPLACE) == 0 ? 0 : errno;
#else
    static_cast<void>(from);
    static_cast<void>(to);
    return ENOSYS;
#endif
}

}  // namespace

FileStatus status_from(const struct stat& status) {
#ifdef __APPLE__  // not tried
    const timespec& modified = status.st_mtimespec;
#else
    const timespec& modified = status.st_mtim;
#endif
    return {kind_of(status.st_mode),
            static_cast<std::uint64_t>(status.st_size),
            static_cast<std::int64_t>(modified.tv_sec) * 1'000'000'000 + modified.tv_nsec,
            static_cast<std::uint64_t>(status.st_dev),
            static_cast<std::uint64_t>(status.st_ino),
            static_cast<std::uint64_t>(status.st_rdev)};
}

std::optional<FileStatus> status_of(const std::filesystem::path& path, Links links, int* error) {
    struct stat status {};
    const int failed =
        links == Links::follow ? ::stat(path.c_str(), &status) : ::lstat(path.c_str(), &status);
    if (error) *error = failed != 0 ? errno : 0;
    if (failed != 0) return std::nullopt;
    return status_from(status);
}

bool may_write_to(const std::filesystem::path& path) {
    return ::access(path.c_str(), W_OK) == 0;
}

int error_of_making_folder(const std::filesystem::path& path) {
    return ::mkdir(path.c_str(), 0777) == 0 ? 0 : errno;
}

void remove_name(const std::filesystem::path& path) noexcept {
    ::unlink(path.c_str());
}

int error_of_rename(const std::filesystem::path& from, const std::filesystem::path& to) {
    return ::rename(from.c_str(), to.c_str()) == 0 ? 0 : errno;
}

int error_of_rename_to_new(const std::filesystem::path& from, const std::filesystem::path& to) {
    const int error = error_of_careful_rename(from.c_str(), to.c_str());
    if (error != EINVAL && error != ENOSYS && error != EOPNOTSUPP) return error;
    // Only one program at a time writes where we do, so that a look before does as well.
    if (status_of(to, Links::look_at_link)) return EEXIST;
    return error_of_rename(from, to);
}

}  // namespace hearwood
