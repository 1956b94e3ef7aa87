// With O_DIRECT the kernel hands over what the device has, past its own memory of the file.
#include "card/disk_hash.h"

#include <fcntl.h>
#include <linux/magic.h>
#include <sys/stat.h>
#include <sys/statfs.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdint>
#include <cstdlib>
#include <new>

#include "base/error.h"
#include "base/sha256.h"

namespace hearwood {
namespace {

constexpr std::size_t kBlock = 1 << 20;
constexpr std::size_t kAlignment = 4096;  // what O_DIRECT asks of memory, offsets and lengths

class File {
  public:
    File(const std::filesystem::path& path, int flags)
        : descriptor_(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW | flags)) {}
    ~File() {
        if (descriptor_ >= 0) ::close(descriptor_);
    }
    File(const File&) = delete;
    File& operator=(const File&) = delete;
    int get() const { return descriptor_; }
    /// A file system that lives in memory has no disk to read from, whatever it says to O_DIRECT.
    bool in_memory() const {
        struct statfs status {};
        return ::fstatfs(descriptor_, &status) == 0 &&
               (status.f_type == TMPFS_MAGIC || status.f_type == RAMFS_MAGIC);
    }
    std::uint64_t size() const {
        struct stat status {};
        return ::fstat(descriptor_, &status) == 0 ? static_cast<std::uint64_t>(status.st_size) : 0;
    }

  private:
    int descriptor_;
};

/// The hash; empty when direct reading turns out not to be possible here. Errors: MachineError.
std::string hash_of(const File& file, const std::filesystem::path& path, char* block, bool direct) {
    Sha256 hash;
    const std::uint64_t size = file.size();
    std::uint64_t offset = 0;
    while (true) {
        // Direct reading goes on at aligned offsets only: an unaligned one is the end of the file,
        // or the file system gave a short piece in its middle.
        const bool unaligned = direct && offset % kAlignment != 0;
        if (unaligned) return offset == size ? hash.finish() : std::string();
        // What is asked for behind the end, the kernel would fill with zeros.
        const std::uint64_t rest = size > offset ? size - offset : 0;
        const std::uint64_t wanted =
            std::min<std::uint64_t>(kBlock, (rest / kAlignment + 1) * kAlignment);
        const ssize_t got = ::pread(file.get(), block, wanted, static_cast<off_t>(offset));
        if (got < 0 && errno == EINTR) continue;
        if (got < 0 && errno == EINVAL && direct) return {};
        if (got < 0)
            throw_machine_error(path.native(), "cannot read the copy back", errno,
                                "check the disk's health, then run again");
        if (got == 0) return hash.finish();
        hash.add(block, static_cast<std::size_t>(got));
        offset += static_cast<std::uint64_t>(got);
    }
}

}  // namespace

void DiskReader::Free::operator()(char* bytes) const {
    std::free(bytes);
}

DiskReader::DiskReader() : block_(static_cast<char*>(std::aligned_alloc(kAlignment, kBlock))) {
    if (!block_) throw std::bad_alloc();
}

DiskHash DiskReader::hash(const std::filesystem::path& path) {
    const File direct(path, O_DIRECT);
    if (direct.get() >= 0) {
        std::string sha256 = hash_of(direct, path, block_.get(), true);
        if (!sha256.empty()) return {sha256, !direct.in_memory()};
    }
    const File plain(path, 0);
    if (plain.get() < 0)
        throw_machine_error(path.native(), "cannot open the copy to read it back", errno,
                            "check the disk's health, then run again");
    ::posix_fadvise(plain.get(), 0, 0, POSIX_FADV_DONTNEED);
    return {hash_of(plain, path, block_.get(), false), false};
}

}  // namespace hearwood
