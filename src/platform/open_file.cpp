#include "platform/open_file.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <ctime>
#include <utility>

#include "platform/open_flags.h"
#include "platform/posix_status.h"

#ifdef __linux__
#include <linux/magic.h>
#include <sys/vfs.h>

#include <algorithm>
#include <array>
#endif

namespace hearwood {
namespace {

/// Makes the call again while signals break it off.
template <class Call>
Transfer transfer(Call call) {
    while (true) {
        const ssize_t done = call();
        if (done >= 0) return {static_cast<std::size_t>(done), 0};
        if (errno != EINTR) return {0, errno};
    }
}

/// write_all() in terms of one call that writes the rest from `done` on.
template <class Call>
Transfer write_rest(std::size_t count, Call call) {
    Transfer all;
    while (all.bytes < count && all.error == 0) {
        const Transfer one = transfer([&] { return call(all.bytes); });
        all.bytes += one.bytes;
        all.error = one.error;
    }
    return all;
}

}  // namespace

int open_flags(OpenFor purpose, const OpenHow& how) {
    int flags = O_CLOEXEC;
    switch (purpose) {
        case OpenFor::reading:
            flags |= O_RDONLY;
            break;
        case OpenFor::writing_new:
            flags |= O_WRONLY | O_CREAT | O_EXCL;
            break;
        case OpenFor::writing_anew:
            flags |= O_WRONLY | O_CREAT | O_TRUNC;
            break;
        case OpenFor::changing:
            flags |= O_WRONLY;
            break;
        case OpenFor::locking:
            flags |= O_RDWR | O_CREAT;
            break;
    }
    if (!how.follow_link) flags |= O_NOFOLLOW;
    if (how.never_wait) flags |= O_NONBLOCK | O_NOCTTY;
#ifdef O_DIRECT
    if (how.past_memory) flags |= O_DIRECT;
#endif
    return flags;
}

int open_below(int folder, const char* path, int flags, bool without_trace) {
    // Where the file is not to be made, the mode is of no account.
    constexpr mode_t kAsTheUserHasIt = 0666;
    const auto open = [&](int with) {
        return folder == AT_FDCWD ? ::open(path, flags | with, kAsTheUserHasIt)
                                  : ::openat(folder, path, flags | with, kAsTheUserHasIt);
    };
#ifdef O_NOATIME
    if (without_trace) {
        const int descriptor = open(O_NOATIME);
        // Only the owner may leave the access time alone.
        if (descriptor >= 0 || errno != EPERM) return descriptor;
    }
#else
    static_cast<void>(without_trace);
#endif
    return open(0);
}

OpenFile::OpenFile(const std::filesystem::path& path, OpenFor purpose, OpenHow how)
    : descriptor_(open_below(AT_FDCWD, path.c_str(), open_flags(purpose, how), how.without_trace)),
      error_(descriptor_ < 0 ? errno : 0) {
#ifdef __APPLE__  // not tried
    if (how.past_memory && descriptor_ >= 0) ::fcntl(descriptor_, F_NOCACHE, 1);
#endif
}

OpenFile::OpenFile(OpenFile&& other) noexcept
    : descriptor_(std::exchange(other.descriptor_, -1)), error_(other.error_) {}

OpenFile& OpenFile::operator=(OpenFile&& other) noexcept {
    std::swap(descriptor_, other.descriptor_);
    error_ = other.error_;
    return *this;
}

OpenFile::~OpenFile() {
    if (descriptor_ >= 0) ::close(descriptor_);
}

std::optional<FileStatus> OpenFile::status(int* error) const {
    struct stat status {};
    const bool told = ::fstat(descriptor_, &status) == 0;
    if (error) *error = told ? 0 : errno;
    if (!told) return std::nullopt;
    return status_from(status);
}

Transfer OpenFile::read(void* to, std::size_t count) const {
    return transfer([&] { return ::read(descriptor_, to, count); });
}

Transfer OpenFile::read_at(std::uint64_t offset, void* to, std::size_t count) const {
    return transfer([&] { return ::pread(descriptor_, to, count, static_cast<off_t>(offset)); });
}

Transfer OpenFile::write_all(const char* from, std::size_t count) const {
    return write_rest(
        count, [&](std::size_t done) { return ::write(descriptor_, from + done, count - done); });
}

Transfer OpenFile::write_all_at(std::uint64_t offset, const char* from, std::size_t count) const {
    return write_rest(count, [&](std::size_t done) {
        return ::pwrite(descriptor_, from + done, count - done, static_cast<off_t>(offset + done));
    });
}

int OpenFile::empty() const {
    return ::ftruncate(descriptor_, 0) == 0 ? 0 : errno;
}

void OpenFile::set_modified(std::int64_t modified_ns) const {
    constexpr std::int64_t kSecond = 1'000'000'000;
    std::int64_t seconds = modified_ns / kSecond, rest = modified_ns % kSecond;
    if (rest < 0) {
        rest += kSecond;
        --seconds;
    }
    const timespec times[2] = {{0, UTIME_OMIT},
                               {static_cast<time_t>(seconds), static_cast<long>(rest)}};
    ::futimens(descriptor_, times);
}

int OpenFile::sync() const {
#ifdef __APPLE__  // not tried: fsync there does not empty the disk's own memory
    if (::fcntl(descriptor_, F_FULLFSYNC) == 0) return 0;
#endif
    return ::fsync(descriptor_) == 0 ? 0 : errno;
}

void OpenFile::push(std::uint64_t offset, std::uint64_t count) const {
#ifdef SYNC_FILE_RANGE_WRITE
    ::sync_file_range(descriptor_, static_cast<off_t>(offset), static_cast<off_t>(count),
                      SYNC_FILE_RANGE_WRITE);
#else
    static_cast<void>(offset);
    static_cast<void>(count);
#endif
}

int OpenFile::await_bytes() const {
#ifdef SYNC_FILE_RANGE_WRITE
    constexpr unsigned kAll =
        SYNC_FILE_RANGE_WAIT_BEFORE | SYNC_FILE_RANGE_WRITE | SYNC_FILE_RANGE_WAIT_AFTER;
    return ::sync_file_range(descriptor_, 0, 0, kAll) == 0 ? 0 : errno;
#else
    return sync();
#endif
}

int OpenFile::sync_file_system() const {
#ifdef __linux__
    return ::syncfs(descriptor_) == 0 ? 0 : errno;
#else
    ::sync();
    return 0;
#endif
}

bool OpenFile::syncs_as_a_whole() const {
#ifdef __linux__
    constexpr std::array<unsigned, 4> kTrusted = {EXT4_SUPER_MAGIC, XFS_SUPER_MAGIC,
                                                  BTRFS_SUPER_MAGIC, F2FS_SUPER_MAGIC};
    struct statfs status {};
    return ::fstatfs(descriptor_, &status) == 0 &&
           std::any_of(kTrusted.begin(), kTrusted.end(), [&](unsigned magic) {
               return magic == static_cast<std::uint64_t>(status.f_type);
           });
#else
    return false;
#endif
}

void OpenFile::expect_reading_on() const {
#ifdef POSIX_FADV_SEQUENTIAL
    ::posix_fadvise(descriptor_, 0, 0, POSIX_FADV_SEQUENTIAL);
#endif
}

void OpenFile::drop_from_memory() const {
#ifdef POSIX_FADV_DONTNEED
    ::posix_fadvise(descriptor_, 0, 0, POSIX_FADV_DONTNEED);
#endif
}

bool OpenFile::try_to_lock(int& error) const {
    error = 0;
    while (::flock(descriptor_, LOCK_EX | LOCK_NB) != 0) {
        if (errno == EINTR) continue;
        if (errno != EWOULDBLOCK) error = errno;
        return false;
    }
    return true;
}

int OpenFile::close() {
    return ::close(std::exchange(descriptor_, -1)) == 0 ? 0 : errno;
}

}  // namespace hearwood
