#include "card/copy_target.h"

#include <fcntl.h>
#include <linux/magic.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <sys/vfs.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <utility>

#include "base/error.h"
#include "base/file.h"
#include "base/text.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

// Hidden, so that no listing of recordings takes what is in it for one.
constexpr const char* kTemporaryFolder = ".offload";
constexpr const char* kDiskMend =
    "check the disk's free space and health, then run again: what is proved is kept";
constexpr std::uint64_t kPushBytes = 8 << 20;

[[noreturn]] void refuse_link(const fs::path& path) {
    throw InputError({Problem{
        .file = path.native(),
        .what = "a link or no folder; copies are only written to proper folders, so that none "
                "can land elsewhere",
        .mend = "replace it by a folder"}});
}

/// Whether syncfs does what fsync does for every file: others (FUSE among them, and with it many a
/// portable disk) may take the call and do nothing.
bool syncs_as_a_whole(int descriptor) {
    constexpr std::array<unsigned, 4> kTrusted = {EXT4_SUPER_MAGIC, XFS_SUPER_MAGIC,
                                                  BTRFS_SUPER_MAGIC, F2FS_SUPER_MAGIC};
    struct statfs status {};
    return ::fstatfs(descriptor, &status) == 0 &&
           std::any_of(kTrusted.begin(), kTrusted.end(), [&](unsigned magic) {
               return magic == static_cast<std::uint64_t>(status.f_type);
           });
}

}  // namespace

UnfinishedCopy::UnfinishedCopy(fs::path temporary, fs::path target)
    : temporary_(std::move(temporary)), target_(std::move(target)) {
    descriptor_ =
        ::open(temporary_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0666);
    if (descriptor_ < 0) throw_machine_error(target_.native(), "cannot write", errno, kDiskMend);
}

UnfinishedCopy::UnfinishedCopy(UnfinishedCopy&& other) noexcept
    : temporary_(std::move(other.temporary_)),
      target_(std::move(other.target_)),
      descriptor_(std::exchange(other.descriptor_, -1)),
      written_(other.written_),
      pushed_(other.pushed_) {
    other.temporary_.clear();
}

UnfinishedCopy::~UnfinishedCopy() {
    if (descriptor_ >= 0) ::close(descriptor_);
    if (!temporary_.empty()) ::unlink(temporary_.c_str());
}

void UnfinishedCopy::write(const char* bytes, std::size_t count) {
    while (count > 0) {
        const ssize_t done = ::write(descriptor_, bytes, count);
        if (done < 0 && errno == EINTR) continue;
        if (done < 0) throw_machine_error(target_.native(), "cannot write", errno, kDiskMend);
        bytes += done;
        count -= static_cast<std::size_t>(done);
        written_ += static_cast<std::uint64_t>(done);
    }
    if (written_ - pushed_ >= kPushBytes) push();
}

/// The disk starts on it now, so that sync() does not have it all before it.
void UnfinishedCopy::push() {
    ::sync_file_range(descriptor_, static_cast<off_t>(pushed_),
                      static_cast<off_t>(written_ - pushed_), SYNC_FILE_RANGE_WRITE);
    pushed_ = written_;
}

void UnfinishedCopy::end(std::int64_t modified_ns) {
    constexpr std::int64_t kSecond = 1'000'000'000;
    std::int64_t seconds = modified_ns / kSecond, rest = modified_ns % kSecond;
    if (rest < 0) {
        rest += kSecond;
        --seconds;
    }
    const timespec times[2] = {{0, UTIME_OMIT},
                               {static_cast<time_t>(seconds), static_cast<long>(rest)}};
    ::futimens(descriptor_, times);  // nice to have, no more: a file system may refuse it
    push();
}

void UnfinishedCopy::sync() {
    if (::fsync(descriptor_) != 0)
        throw_machine_error(target_.native(), "cannot sync to disk", errno, kDiskMend);
    close();
}

/// Waits for the bytes alone; errors in writing them are told here, file by file.
void UnfinishedCopy::await_bytes() {
    constexpr unsigned kAll =
        SYNC_FILE_RANGE_WAIT_BEFORE | SYNC_FILE_RANGE_WRITE | SYNC_FILE_RANGE_WAIT_AFTER;
    if (::sync_file_range(descriptor_, 0, 0, kAll) != 0)
        throw_machine_error(target_.native(), "cannot write to disk", errno, kDiskMend);
}

void UnfinishedCopy::close() {
    if (::close(std::exchange(descriptor_, -1)) != 0)
        throw_machine_error(target_.native(), "cannot close", errno, kDiskMend);
}

void UnfinishedCopy::publish() {
    if (::rename(temporary_.c_str(), target_.c_str()) != 0)
        throw_machine_error(target_.native(), "cannot rename into place", errno, kDiskMend);
    temporary_.clear();
}

void sync_together(std::span<UnfinishedCopy* const> copies) {
    if (copies.size() < 2 || !syncs_as_a_whole(copies.front()->descriptor_)) {
        for (UnfinishedCopy* copy : copies) copy->sync();
        return;
    }
    for (UnfinishedCopy* copy : copies) copy->await_bytes();
    if (::syncfs(copies.front()->descriptor_) != 0)
        throw_machine_error(copies.front()->target_.native(), "cannot sync to disk", errno,
                            kDiskMend);
    for (UnfinishedCopy* copy : copies) copy->close();
}

CopyTarget::CopyTarget(const fs::path& root, const std::string& folder)
    : root_(fs::weakly_canonical(root)), folder_((root_ / folder).lexically_normal()) {
    const fs::path inside = folder_.lexically_relative(root_);
    if (inside.empty() || inside == "." || *inside.begin() == "..")
        throw InputError({Problem{
            .file = "deployments.csv",
            .field = "folder",
            .value = folder,
            .what = "recordings are only copied to a folder inside the survey",
            .mend = "name one, such as recordings/" + fs::path(folder).filename().string()}});
}

/// The folders down to the file's, made where they are missing; none of them may be a link.
fs::path CopyTarget::make_parent_of(const std::string& path) {
    fs::path full = folder_ / path;
    if (!parents_.insert(full.parent_path().native()).second) return full;
    fs::path at = root_;
    for (const fs::path& part : full.parent_path().lexically_relative(root_)) {
        at /= part;
        if (::mkdir(at.c_str(), 0777) == 0) {
            sync_folder(at.parent_path());
            continue;
        }
        if (errno != EEXIST)
            throw_machine_error(at.native(), "cannot make the folder", errno, kDiskMend);
        struct stat status {};
        if (::lstat(at.c_str(), &status) != 0 || !S_ISDIR(status.st_mode)) refuse_link(at);
    }
    return full;
}

void CopyTarget::prepare() {
    make_folder(root_);
    make_parent_of("any");
    const fs::path temporary = folder_ / kTemporaryFolder;
    finish();
    if (::mkdir(temporary.c_str(), 0777) != 0)
        throw_machine_error(temporary.native(), "cannot make the folder", errno, kDiskMend);
    load_checksums();
}

void CopyTarget::load_checksums() {
    checksums_ = Checksums::load(folder_ / Checksums::kFileName);
}

std::optional<CopyTarget::Present> CopyTarget::look(const std::string& path) const {
    struct stat status {};
    if (::lstat((folder_ / path).c_str(), &status) != 0) return std::nullopt;
    const auto modified =
        static_cast<std::int64_t>(status.st_mtim.tv_sec) * 1'000'000'000 + status.st_mtim.tv_nsec;
    return Present{static_cast<std::uint64_t>(status.st_size), modified, S_ISREG(status.st_mode)};
}

UnfinishedCopy CopyTarget::begin(const std::string& path) {
    const fs::path target = make_parent_of(path);
    return {folder_ / kTemporaryFolder / (std::to_string(next_temporary_++) + ".part"), target};
}

fs::path CopyTarget::nearest_existing() const {
    fs::path at = folder_;
    std::error_code ignored;
    while (!fs::exists(at, ignored) && at.has_relative_path()) at = at.parent_path();
    return at;
}

std::uint64_t CopyTarget::free_bytes() const {
    struct statvfs status {};
    const fs::path at = nearest_existing();
    if (::statvfs(at.c_str(), &status) != 0)
        throw_machine_error(at.native(), "cannot tell the free space", errno, kDiskMend);
    return static_cast<std::uint64_t>(status.f_bavail) * status.f_frsize;
}

std::uint64_t CopyTarget::file_system() const {
    struct stat status {};
    return ::stat(nearest_existing().c_str(), &status) == 0 ? status.st_dev : 0;
}

void CopyTarget::write_checksums() const {
    write_whole_file(folder_ / Checksums::kFileName, checksums_.text());
}

void CopyTarget::finish() {
    // remove_all takes away a link itself, never what it leads to.
    std::error_code ignored;
    fs::remove_all(folder_ / kTemporaryFolder, ignored);
}

}  // namespace hearwood
