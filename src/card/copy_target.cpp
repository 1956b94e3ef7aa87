#include "card/copy_target.h"

#include <dirent.h>
#include <fcntl.h>
#include <linux/magic.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <sys/vfs.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <climits>
#include <clocale>
#include <cstdio>
#include <cwchar>
#include <cwctype>
#include <memory>
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

struct CloseFolder {
    void operator()(DIR* folder) const { ::closedir(folder); }
};

/// Renames where nothing has the new name; 0 or errno.
int error_of_rename_to_new(const fs::path& from, const fs::path& to) {
    if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0) return 0;
    if (errno != EINVAL && errno != ENOSYS && errno != EOPNOTSUPP) return errno;
    // The file system knows no such rename. Only one offload at a time writes here, so that a look
    // before does as well.
    struct stat status {};
    if (::lstat(to.c_str(), &status) == 0) return EEXIST;
    return ::rename(from.c_str(), to.c_str()) == 0 ? 0 : errno;
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

UnfinishedCopy::UnfinishedCopy(fs::path temporary, fs::path target, bool replaces)
    : temporary_(std::move(temporary)), target_(std::move(target)), replaces_(replaces) {
    descriptor_ =
        ::open(temporary_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0666);
    if (descriptor_ < 0) throw_machine_error(target_.native(), "cannot write", errno, kDiskMend);
}

UnfinishedCopy::UnfinishedCopy(UnfinishedCopy&& other) noexcept
    : temporary_(std::move(other.temporary_)),
      target_(std::move(other.target_)),
      replaces_(other.replaces_),
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
        if (done < 0 && errno == EFBIG)
            throw FileTooLarge(
                "a file this large cannot be written there (on FAT at most 4 GiB; or "
                "see 'ulimit -f')");
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

void UnfinishedCopy::reopen() {
    if (descriptor_ >= 0) close();
    descriptor_ = ::open(temporary_.c_str(), O_WRONLY | O_CLOEXEC | O_NOFOLLOW);
    if (descriptor_ < 0) throw_machine_error(target_.native(), "cannot write", errno, kDiskMend);
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

bool UnfinishedCopy::publish() {
    int error = 0;
    if (replaces_) {
        error = ::rename(temporary_.c_str(), target_.c_str()) == 0 ? 0 : errno;
    } else {
        error = error_of_rename_to_new(temporary_, target_);
        if (error == EEXIST) return false;
    }
    if (error != 0)
        throw_machine_error(target_.native(), "cannot rename into place", error, kDiskMend);
    temporary_.clear();
    return true;
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
    : root_(fs::weakly_canonical(fs::absolute(root))),
      folder_((root_ / folder).lexically_normal()),
      disk_(disk_of(folder_)) {
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
    find_out_folding();
    load_checksums();
}

void CopyTarget::find_out_folding() {
    const fs::path small = folder_ / kTemporaryFolder / "case",
                   large = folder_ / kTemporaryFolder / "CASE";
    const int descriptor =
        ::open(small.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0666);
    if (descriptor < 0) throw_machine_error(small.native(), "cannot write", errno, kDiskMend);
    ::close(descriptor);
    struct stat status {};
    folds_names_ = ::lstat(large.c_str(), &status) == 0;
    ::unlink(small.c_str());
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

UnfinishedCopy CopyTarget::begin(const std::string& path, bool replaces) {
    const fs::path target = make_parent_of(path);
    return {folder_ / kTemporaryFolder / (std::to_string(next_temporary_++) + ".part"), target,
            replaces};
}

std::string CopyTarget::name_on_disk(const std::string& path) const {
    const fs::path full = folder_ / path;
    struct stat wanted {};
    if (::lstat(full.c_str(), &wanted) != 0) return path;
    const std::unique_ptr<DIR, CloseFolder> folder(::opendir(full.parent_path().c_str()));
    const std::string key = folded_name(full.filename().native());
    while (const dirent* entry = folder ? ::readdir(folder.get()) : nullptr) {
        const bool same = entry->d_ino == wanted.st_ino || folded_name(entry->d_name) == key;
        struct stat status {};
        if (same && ::lstat((full.parent_path() / entry->d_name).c_str(), &status) == 0 &&
            status.st_size == wanted.st_size)
            return (fs::path(path).parent_path() / entry->d_name).native();
    }
    return path;
}

std::uint64_t CopyTarget::free_bytes() const {
    struct statvfs status {};
    const fs::path at = nearest_existing(folder_);
    if (::statvfs(at.c_str(), &status) != 0)
        throw_machine_error(at.native(), "cannot tell the free space", errno, kDiskMend);
    return static_cast<std::uint64_t>(status.f_bavail) * status.f_frsize;
}

std::uint64_t CopyTarget::file_system() const {
    struct stat status {};
    return ::stat(nearest_existing(folder_).c_str(), &status) == 0 ? status.st_dev : 0;
}

void CopyTarget::write_checksums() const {
    checksums_.save(folder_);
}

void CopyTarget::finish() {
    // remove_all takes away a link itself, never what it leads to.
    std::error_code ignored;
    fs::remove_all(folder_ / kTemporaryFolder, ignored);
}

std::string folded_name(const std::string& path) {
    // Capitals as Unicode knows them, whatever the user's locale; it is made once and kept.
    static const locale_t unicode = ::newlocale(LC_CTYPE_MASK, "C.UTF-8", nullptr);
    std::string key;
    const locale_t before = unicode ? ::uselocale(unicode) : nullptr;
    std::mbstate_t state{};
    for (std::size_t at = 0; at < path.size();) {
        wchar_t letter = 0;
        const std::size_t length =
            std::mbrtowc(&letter, path.data() + at, path.size() - at, &state);
        char bytes[MB_LEN_MAX];
        std::mbstate_t out{};
        const bool known = length > 0 && length <= path.size() - at;
        const std::size_t written =
            known
                ? std::wcrtomb(
                      bytes, static_cast<wchar_t>(std::towlower(static_cast<wint_t>(letter))), &out)
                : static_cast<std::size_t>(-1);
        if (written == static_cast<std::size_t>(-1)) {  // no letter: the byte itself
            key += path[at++];
            state = {};
            continue;
        }
        key.append(bytes, written);
        at += length;
    }
    if (before) ::uselocale(before);
    // FAT drops blanks and dots at the end of a name.
    while (!key.empty() && (key.back() == '.' || key.back() == ' ')) key.pop_back();
    return key;
}

}  // namespace hearwood
