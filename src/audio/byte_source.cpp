#include "audio/byte_source.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <string>
#include <utility>

namespace hearwood {
namespace {

Unreadable cannot_open(int error_number) {
    const std::string why = std::strerror(error_number);
    switch (error_number) {
        case ENOENT:
        case ENOTDIR:
            return {UnreadableKind::missing, "no such file",
                    "check the path; was the card pulled?"};
        case EACCES:
        case EPERM:
            return {UnreadableKind::no_permission, "the system does not let this user read it",
                    "change its permissions, or run as its owner"};
        case ELOOP:
            return {UnreadableKind::not_a_file, "symbolic links that lead in a circle",
                    "replace the link by the file"};
        default:
            return {UnreadableKind::io_error, "cannot be opened: " + why,
                    "check the disk and its cable"};
    }
}

Unreadable not_regular(mode_t mode) {
    if (S_ISDIR(mode))
        return {UnreadableKind::not_a_file, "a folder, not a recording",
                "rename it if it misleads"};
    return {UnreadableKind::not_a_file, "a device, pipe or socket, not a recording", ""};
}

/// O_NONBLOCK, or a pipe named x.wav would block the batch for ever; it changes nothing for files.
int open_quietly(const char* path) {
    constexpr int flags = O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY;
    const int descriptor = ::open(path, flags | O_NOATIME);
    // Only the owner may leave the access time alone.
    return descriptor < 0 && errno == EPERM ? ::open(path, flags) : descriptor;
}

}  // namespace

std::variant<ByteSource, Unreadable> ByteSource::open(const std::filesystem::path& path) {
    const int descriptor = open_quietly(path.c_str());
    if (descriptor < 0) return cannot_open(errno);
    ByteSource source{descriptor, 0};
    struct stat status {};
    if (::fstat(descriptor, &status) != 0) return cannot_open(errno);
    if (!S_ISREG(status.st_mode)) return not_regular(status.st_mode);
    source.size_ = static_cast<std::uint64_t>(status.st_size);
    return source;
}

ByteSource::ByteSource(ByteSource&& other) noexcept
    : descriptor_(std::exchange(other.descriptor_, -1)),
      size_(other.size_),
      failure_(other.failure_) {}

ByteSource& ByteSource::operator=(ByteSource&& other) noexcept {
    std::swap(descriptor_, other.descriptor_);
    size_ = other.size_;
    failure_ = other.failure_;
    return *this;
}

ByteSource::~ByteSource() {
    if (descriptor_ >= 0) ::close(descriptor_);
}

std::size_t ByteSource::read_at(std::uint64_t offset, void* bytes, std::size_t count) {
    std::size_t done = 0;
    while (done < count) {
        const ssize_t got = ::pread(descriptor_, static_cast<char*>(bytes) + done, count - done,
                                    static_cast<off_t>(offset + done));
        if (got > 0) {
            done += static_cast<std::size_t>(got);
        } else if (got == 0) {
            break;
        } else if (errno != EINTR) {
            if (!failure_) failure_ = Failure{offset + done, errno};
            break;
        }
    }
    return done;
}

}  // namespace hearwood
