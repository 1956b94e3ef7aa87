#include "base/file.h"

#include <cerrno>
#include <fstream>
#include <system_error>
#include <utility>

#include "base/error.h"
#include "platform/file_status.h"

namespace hearwood {
namespace {

constexpr std::size_t kBufferBytes = 1 << 18;
const char* const kDiskFix = "check the disk's free space and health, then run again";

}  // namespace

AtomicFile::AtomicFile(std::filesystem::path target)
    : target_(std::move(target)),
      temporary_(target_.native() + ".part"),
      // A leftover of a killed run is overwritten: it was never a file anyone could rely on. A
      // planted link must not lead the writing elsewhere.
      file_(temporary_, OpenFor::writing_anew, {.follow_link = false}) {
    if (!file_.is_open()) throw_machine_error(target_, "cannot write", file_.error(), kDiskFix);
    buffer_.reserve(kBufferBytes);
}

AtomicFile::~AtomicFile() {
    if (!file_.is_open()) return;
    file_.close();
    remove_name(temporary_);
}

void AtomicFile::write(std::string_view bytes) {
    buffer_ += bytes;
    if (buffer_.size() >= kBufferBytes) flush();
}

void AtomicFile::flush() {
    if (const int error = file_.write_all(buffer_.data(), buffer_.size()).error; error != 0)
        throw_machine_error(target_, "cannot write", error, kDiskFix);
    buffer_.clear();
}

void AtomicFile::overwrite(std::uint64_t offset, std::string_view bytes) {
    flush();
    if (const int error = file_.write_all_at(offset, bytes.data(), bytes.size()).error; error != 0)
        throw_machine_error(target_, "cannot write", error, kDiskFix);
}

void AtomicFile::sync() {
    flush();
    if (const int error = file_.sync(); error != 0)
        throw_machine_error(target_, "cannot sync to disk", error, kDiskFix);
}

void AtomicFile::commit(Sync sync) {
    flush();
    if (sync == Sync::now) this->sync();
    const int not_closed = file_.close();
    const int error = not_closed != 0 ? not_closed : error_of_rename(temporary_, target_);
    if (error != 0) {
        remove_name(temporary_);
        throw_machine_error(target_, not_closed != 0 ? "cannot close" : "cannot rename into place",
                            error, kDiskFix);
    }
    if (sync == Sync::now) sync_folder(target_.parent_path());
}

std::string read_whole_file(const std::filesystem::path& path, std::uint64_t limit) {
    std::ifstream in(path, std::ios::binary);
    std::error_code error;
    if (!in || std::filesystem::is_directory(path, error))
        throw InputError({Problem{.file = path.string(),
                                  .what = "cannot be opened for reading",
                                  .fix = "check that it is there and readable"}});
    std::string bytes;
    char block[1 << 16];
    while (in.read(block, sizeof block) || in.gcount() > 0) {
        bytes.append(block, static_cast<std::size_t>(in.gcount()));
        if (bytes.size() > limit)
            throw InputError({Problem{.file = path.string(),
                                      .what = "larger than " + std::to_string(limit) + " bytes",
                                      .fix = "this cannot be the file that was meant"}});
    }
    if (in.bad()) throw_machine_error(path.string(), "cannot read", errno, kDiskFix);
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
        throw_machine_error(path.string(), "cannot make the folder", error.value(), kDiskFix);
}

namespace {

OpenFile opened_folder(const std::filesystem::path& folder) {
    OpenFile opened(folder, OpenFor::reading);
    if (!opened.is_open())
        throw_machine_error(folder.string(), "cannot open the folder", opened.error(), kDiskFix);
    return opened;
}

}  // namespace

void sync_folder(const std::filesystem::path& path) {
    const std::filesystem::path folder = path.empty() ? std::filesystem::path(".") : path;
    const int error = opened_folder(folder).sync();
    // Some file systems (FAT on certain drivers, network mounts) cannot sync folders and say
    // EINVAL.
    if (error != 0 && error != EINVAL && error != ENOTSUP)
        throw_machine_error(folder.string(), "cannot sync the folder", error, kDiskFix);
}

void sync_file(const std::filesystem::path& path) {
    const OpenFile file(path, OpenFor::reading);
    const int error = file.is_open() ? file.sync() : file.error();
    if (error != 0) throw_machine_error(path, "cannot sync to disk", error, kDiskFix);
}

void sync_file_system(const std::filesystem::path& folder) {
    const int error = opened_folder(folder).sync_file_system();
    if (error != 0) throw_machine_error(folder.string(), "cannot sync to disk", error, kDiskFix);
}

}  // namespace hearwood
