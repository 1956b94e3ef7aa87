#include "card/disk_hash.h"

#include <algorithm>
#include <cerrno>
#include <cstdint>
#include <cstdlib>
#include <new>
#include <optional>

#include "base/error.h"
#include "base/sha256.h"
#include "base/text.h"

namespace hearwood {
namespace {

constexpr std::size_t kReadAtOnce = 1 << 20;
constexpr std::size_t kUnit = kPastMemoryUnit;
constexpr const char* kFix = "check the disk's health, then run again";
constexpr const char* kCardFix = "clean the contacts, try another reader, then run again";

}  // namespace

void DiskReader::Free::operator()(char* bytes) const {
    std::free(bytes);
}

DiskReader::DiskReader() : block_(static_cast<char*>(std::aligned_alloc(kUnit, kReadAtOnce))) {
    if (!block_) throw std::bad_alloc();
}

/// False when direct reading turns out not to be possible here.
bool DiskReader::read_all(const OpenFile& file, std::uint64_t size,
                          const std::filesystem::path& path, bool direct, DiskHash& result) {
    Sha256 hash;
    std::uint64_t offset = 0;
    while (true) {
        if (stop && stop()) {
            result.whole = false;
            return true;
        }
        // Direct reading goes on at aligned offsets only: an unaligned one is the end of the file,
        // or the file system gave a short piece in its middle.
        if (direct && offset % kUnit != 0) {
            if (offset != size) return false;
            break;
        }
        // What is asked for behind the end, the kernel would fill with zeros.
        const std::uint64_t rest = size > offset ? size - offset : 0;
        const std::uint64_t wanted =
            std::min<std::uint64_t>(kReadAtOnce, (rest / kUnit + 1) * kUnit);
        const Transfer got = file.read_at(offset, block_.get(), wanted);
        if (got.error == EINVAL && direct) return false;
        if (got.error != 0)
            throw_machine_error(path.native(),
                                of_card ? "cannot be read again" : "cannot read the copy back",
                                got.error, of_card ? kCardFix : kFix);
        if (got.bytes == 0) break;
        hash.add(block_.get(), got.bytes);
        offset += got.bytes;
        if (progress) progress(got.bytes);
    }
    result.sha256 = hash.finish();
    return true;
}

DiskHash DiskReader::hash(const std::filesystem::path& path) {
    OpenHow how{.follow_link = false, .without_trace = of_card, .never_wait = true};
    const OpenFile plain(path, OpenFor::reading, how);
    int error = plain.error();
    const auto status = plain.is_open() ? plain.status(&error) : std::nullopt;
    if (!status)
        throw_machine_error(
            path.native(),
            of_card ? "cannot be opened to be read again" : "cannot open the copy to read it back",
            error, of_card ? kCardFix : kFix);
    if (!status->is_regular())
        throw MachineError(printable(path.native()) + ": is no file; remove it, then run again");
    // Some file systems serve even a direct read from memory where they hold the page.
    plain.drop_from_memory();
    DiskHash result;
    how.past_memory = true;
    const OpenFile direct(path, OpenFor::reading, how);
    if (direct.is_open() && read_all(direct, status->size, path, true, result)) return result;
    result.direct = false;
    read_all(plain, status->size, path, false, result);
    return result;
}

}  // namespace hearwood
