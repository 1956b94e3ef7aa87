// With O_DIRECT the kernel hands over what the device has, past its own memory of the file.
#include "card/disk_hash.h"

#include <fcntl.h>
#include <sys/stat.h>
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
constexpr const char* kMend = "check the disk's health, then run again";

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

  private:
    int descriptor_;
};

}  // namespace

void DiskReader::Free::operator()(char* bytes) const {
    std::free(bytes);
}

DiskReader::DiskReader() : block_(static_cast<char*>(std::aligned_alloc(kAlignment, kBlock))) {
    if (!block_) throw std::bad_alloc();
}

/// False when direct reading turns out not to be possible here.
bool DiskReader::read_all(int descriptor, std::uint64_t size, const std::filesystem::path& path,
                          bool direct, DiskHash& result) {
    Sha256 hash;
    std::uint64_t offset = 0;
    while (true) {
        if (stop && stop()) {
            result.whole = false;
            return true;
        }
        // Direct reading goes on at aligned offsets only: an unaligned one is the end of the file,
        // or the file system gave a short piece in its middle.
        if (direct && offset % kAlignment != 0) {
            if (offset != size) return false;
            break;
        }
        // What is asked for behind the end, the kernel would fill with zeros.
        const std::uint64_t rest = size > offset ? size - offset : 0;
        const std::uint64_t wanted =
            std::min<std::uint64_t>(kBlock, (rest / kAlignment + 1) * kAlignment);
        const ssize_t got = ::pread(descriptor, block_.get(), wanted, static_cast<off_t>(offset));
        if (got < 0 && errno == EINTR) continue;
        if (got < 0 && errno == EINVAL && direct) return false;
        if (got < 0) throw_machine_error(path.native(), "cannot read the copy back", errno, kMend);
        if (got == 0) break;
        hash.add(block_.get(), static_cast<std::size_t>(got));
        offset += static_cast<std::uint64_t>(got);
        if (progress) progress(static_cast<std::uint64_t>(got));
    }
    result.sha256 = hash.finish();
    return true;
}

DiskHash DiskReader::hash(const std::filesystem::path& path) {
    const File plain(path, 0);
    struct stat status {};
    if (plain.get() < 0 || ::fstat(plain.get(), &status) != 0)
        throw_machine_error(path.native(), "cannot open the copy to read it back", errno, kMend);
    const auto size = static_cast<std::uint64_t>(status.st_size);
    // Some file systems serve even a direct read from memory where they hold the page.
    ::posix_fadvise(plain.get(), 0, 0, POSIX_FADV_DONTNEED);
    DiskHash result;
    const File direct(path, O_DIRECT);
    if (direct.get() >= 0 && read_all(direct.get(), size, path, true, result)) return result;
    result.direct = false;
    read_all(plain.get(), size, path, false, result);
    return result;
}

}  // namespace hearwood
