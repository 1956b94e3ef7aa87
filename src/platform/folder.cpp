#include "platform/folder.h"

#include <dirent.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <string_view>

#include "platform/open_flags.h"
#include "platform/posix_status.h"

namespace hearwood {

struct Folder::Handle {
    explicit Handle(DIR* opened) : stream(opened) {}
    ~Handle() { ::closedir(stream); }
    Handle(const Handle&) = delete;
    Handle& operator=(const Handle&) = delete;
    DIR* stream;
};

Folder::Folder(int parent, const char* name, bool follow_link) {
    const int flags = open_flags(OpenFor::reading, {.follow_link = follow_link}) | O_DIRECTORY;
    const int descriptor = open_below(parent, name, flags, true);
    DIR* const stream = descriptor < 0 ? nullptr : ::fdopendir(descriptor);
    if (stream) {
        handle_ = std::make_unique<Handle>(stream);
        return;
    }
    error_ = errno;
    if (descriptor >= 0) ::close(descriptor);
}

Folder::Folder(const std::filesystem::path& path) : Folder(AT_FDCWD, path.c_str(), true) {}
Folder::Folder(Folder&&) noexcept = default;
Folder& Folder::operator=(Folder&&) noexcept = default;
Folder::~Folder() = default;

bool Folder::is_at(const std::filesystem::path& path) const {
    const int own = ::dirfd(handle_->stream);
#ifdef STATX_MNT_ID
    struct statx mine {
    }, there{};
    constexpr unsigned kAsked = STATX_INO | STATX_MNT_ID;
    if (::statx(own, "", AT_EMPTY_PATH, kAsked, &mine) == 0 &&
        ::statx(AT_FDCWD, path.c_str(), 0, kAsked, &there) == 0)
        return mine.stx_ino == there.stx_ino && mine.stx_dev_major == there.stx_dev_major &&
               mine.stx_dev_minor == there.stx_dev_minor && mine.stx_mnt_id == there.stx_mnt_id;
#endif
    struct stat mine_too {
    }, there_too{};
    return ::fstat(own, &mine_too) == 0 && ::stat(path.c_str(), &there_too) == 0 &&
           mine_too.st_dev == there_too.st_dev && mine_too.st_ino == there_too.st_ino;
}

std::optional<Folder::Entry> Folder::next() {
    while (handle_) {
        errno = 0;
        const dirent* entry = ::readdir(handle_->stream);
        if (!entry) {
            error_ = errno;
            break;
        }
        const std::string_view name = entry->d_name;
        if (name != "." && name != "..")
            return Entry{std::string(name), static_cast<std::uint64_t>(entry->d_ino)};
    }
    return std::nullopt;
}

std::optional<FileStatus> Folder::status_of(const std::string& name, Links links,
                                            int* error) const {
    struct stat status {};
    const int flags = links == Links::follow ? 0 : AT_SYMLINK_NOFOLLOW;
    const bool told = ::fstatat(::dirfd(handle_->stream), name.c_str(), &status, flags) == 0;
    if (error) *error = told ? 0 : errno;
    if (!told) return std::nullopt;
    return status_from(status);
}

Folder Folder::subfolder(const std::string& name) const {
    return {::dirfd(handle_->stream), name.c_str(), false};
}

OpenFile Folder::open_file(const std::string& name, OpenFor purpose, OpenHow how) const {
    const int descriptor = open_below(::dirfd(handle_->stream), name.c_str(),
                                      open_flags(purpose, how), how.without_trace);
    return OpenFile(descriptor, descriptor < 0 ? errno : 0);
}

}  // namespace hearwood
