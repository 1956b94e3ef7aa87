#include "base/file.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <fstream>
#include <system_error>
#include <utility>

#include "base/error.h"

namespace hearwood {
namespace {

constexpr std::size_t kBufferBytes = 1 << 18;
const char* const kDiskMend = "check the disk's free space and health, then run again";

}  // namespace

AtomicFile::AtomicFile(std::filesystem::path target)
    : target_(std::move(target)), temporary_(target_.native() + ".part") {
    // A leftover of a killed run is overwritten: it was never a file anyone could rely on.
    // O_NOFOLLOW, so that a planted link cannot lead the writing elsewhere.
    descriptor_ =
        ::open(temporary_.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW, 0666);
    if (descriptor_ < 0) throw_machine_error(target_, "cannot write", errno, kDiskMend);
    buffer_.reserve(kBufferBytes);
}

AtomicFile::~AtomicFile() {
    if (descriptor_ < 0) return;
    ::close(descriptor_);
    ::unlink(temporary_.c_str());
}

void AtomicFile::write(std::string_view bytes) {
    buffer_ += bytes;
    if (buffer_.size() >= kBufferBytes) flush();
}

void AtomicFile::flush() {
    std::string_view rest = buffer_;
    while (!rest.empty()) {
        const ssize_t written = ::write(descriptor_, rest.data(), rest.size());
        if (written < 0 && errno == EINTR) continue;
        if (written < 0) throw_machine_error(target_, "cannot write", errno, kDiskMend);
        rest.remove_prefix(static_cast<std::size_t>(written));
    }
    buffer_.clear();
}

void AtomicFile::overwrite(std::uint64_t offset, std::string_view bytes) {
    flush();
    while (!bytes.empty()) {
        const ssize_t written =
            ::pwrite(descriptor_, bytes.data(), bytes.size(), static_cast<off_t>(offset));
        if (written < 0 && errno == EINTR) continue;
        if (written < 0) throw_machine_error(target_, "cannot write", errno, kDiskMend);
        bytes.remove_prefix(static_cast<std::size_t>(written));
        offset += static_cast<std::uint64_t>(written);
    }
}

void AtomicFile::sync() {
    flush();
    if (::fsync(descriptor_) != 0)
        throw_machine_error(target_, "cannot sync to disk", errno, kDiskMend);
}

void AtomicFile::commit(Sync sync) {
    flush();
    if (sync == Sync::now) this->sync();
    const int closing = std::exchange(descriptor_, -1);
    if (::close(closing) != 0) {
        const int error = errno;
        ::unlink(temporary_.c_str());
        throw_machine_error(target_, "cannot close", error, kDiskMend);
    }
    if (::rename(temporary_.c_str(), target_.c_str()) != 0) {
        const int error = errno;
        ::unlink(temporary_.c_str());
        throw_machine_error(target_, "cannot rename into place", error, kDiskMend);
    }
    if (sync == Sync::now) sync_folder(target_.parent_path());
}

std::string read_whole_file(const std::filesystem::path& path, std::uint64_t limit) {
    std::ifstream in(path, std::ios::binary);
    std::error_code error;
    if (!in || std::filesystem::is_directory(path, error))
        throw InputError({Problem{.file = path.string(),
                                  .what = "cannot be opened for reading",
                                  .mend = "check that it is there and readable"}});
    std::string bytes;
    char block[1 << 16];
    while (in.read(block, sizeof block) || in.gcount() > 0) {
        bytes.append(block, static_cast<std::size_t>(in.gcount()));
        if (bytes.size() > limit)
            throw InputError({Problem{.file = path.string(),
                                      .what = "larger than " + std::to_string(limit) + " bytes",
                                      .mend = "this cannot be the file that was meant"}});
    }
    if (in.bad()) throw_machine_error(path.string(), "cannot read", errno, kDiskMend);
    return bytes;
}

void write_whole_file(const std::filesystem::path& path, std::string_view bytes, Sync sync) {
    AtomicFile file(path);
    file.write(bytes);
    file.commit(sync);
}

void make_folder(const std::filesystem::path& path) {
    std::error_code error;
    std::filesystem::create_directories(path, error);
    if (error)
        throw_machine_error(path.string(), "cannot make the folder", error.value(), kDiskMend);
}

namespace {

/// Calls fsync or syncfs on a folder; its error, 0 when there was none.
int error_of_sync(int (*sync)(int), const std::filesystem::path& folder) {
    const int descriptor = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (descriptor < 0)
        throw_machine_error(folder.string(), "cannot open the folder", errno, kDiskMend);
    const int error = sync(descriptor) == 0 ? 0 : errno;
    ::close(descriptor);
    return error;
}

}  // namespace

void sync_folder(const std::filesystem::path& path) {
    const std::filesystem::path folder = path.empty() ? std::filesystem::path(".") : path;
    const int error = error_of_sync(::fsync, folder);
    // Some file systems (FAT on certain drivers, network mounts) cannot sync folders and say
    // EINVAL.
    if (error != 0 && error != EINVAL && error != ENOTSUP)
        throw_machine_error(folder.string(), "cannot sync the folder", error, kDiskMend);
}

void sync_file(const std::filesystem::path& path) {
    const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
    const int error = descriptor >= 0 && ::fsync(descriptor) == 0 ? 0 : errno;
    if (descriptor >= 0) ::close(descriptor);
    if (error != 0) throw_machine_error(path, "cannot sync to disk", error, kDiskMend);
}

void sync_file_system(const std::filesystem::path& folder) {
    const int error = error_of_sync(::syncfs, folder);
    if (error != 0) throw_machine_error(folder.string(), "cannot sync to disk", error, kDiskMend);
}

}  // namespace hearwood
