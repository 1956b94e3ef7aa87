#include "card/card_reader.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <utility>

#include "base/error.h"
#include "base/text.h"

namespace hearwood {
namespace {

constexpr std::size_t kSector = 4096;
// On a dying card each failing read may take seconds: the steps over spoilt ground grow, and end.
constexpr int kMostFailures = 64;
// After so many files in a row of which nothing comes, one that came is tried again.
constexpr int kDeadMeansGone = 3;

struct Descriptor {
    explicit Descriptor(int value) : number(value) {}
    ~Descriptor() {
        if (number >= 0) ::close(number);
    }
    Descriptor(const Descriptor&) = delete;
    Descriptor& operator=(const Descriptor&) = delete;
    int number;
};

ssize_t read_at(int descriptor, char* to, std::size_t count, std::uint64_t offset) {
    ssize_t got = 0;
    do got = ::pread(descriptor, to, count, static_cast<off_t>(offset));
    while (got < 0 && errno == EINTR);
    return got;
}

bool device_is_gone(int error_number) {
    return error_number == ENODEV || error_number == ENXIO || error_number == ENOMEDIUM ||
           error_number == ESTALE;
}

}  // namespace

CardReader::CardReader(std::filesystem::path card) : card_(std::move(card)), block_(kBlock) {}

void CardReader::throw_gone() const {
    throw CardGone(printable(card_.native()) +
                   ": the card is gone or gives nothing any more; put it back in, or try another "
                   "reader, and run again: what is proved is kept");
}

/// Reads the beginning of a file that could be read before, from the card and not from memory.
bool CardReader::still_gives() const {
    if (last_read_.empty()) return false;
    const Descriptor file(open_file(last_read_));
    if (file.number < 0) return false;
    ::posix_fadvise(file.number, 0, 0, POSIX_FADV_DONTNEED);
    char bytes[kSector];
    return read_at(file.number, bytes, sizeof bytes, 0) > 0;
}

bool CardReader::card_is_there() const {
    struct stat status {};
    return ::stat(card_.c_str(), &status) == 0 && S_ISDIR(status.st_mode);
}

int CardReader::open_file(const std::string& path) const {
    const std::string full = (card_ / path).native();
    // No link is followed: what was listed was a regular file.
    constexpr int flags = O_RDONLY | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK | O_NOCTTY;
    const int descriptor = ::open(full.c_str(), flags | O_NOATIME);
    return descriptor < 0 && errno == EPERM ? ::open(full.c_str(), flags) : descriptor;
}

CardReading CardReader::read(const std::string& path, std::uint64_t size, const Sink& sink) {
    CardReading reading = read_file(path, size, sink);
    if (reading.nothing() && !(stop && stop())) {
        if (++dead_in_a_row_ >= kDeadMeansGone && !still_gives()) throw_gone();
    } else if (reading.whole() && reading.bytes > 0) {
        dead_in_a_row_ = 0;
        last_read_ = path;
    }
    return reading;
}

CardReading CardReader::read_file(const std::string& path, std::uint64_t size, const Sink& sink) {
    CardReading reading;
    const Descriptor file(open_file(path));
    if (file.number < 0) {
        const int why = errno;
        if (device_is_gone(why) || !card_is_there()) throw_gone();
        reading.failure = std::string("cannot be opened: ") + std::strerror(why);
        return reading;
    }
    struct stat status {};
    if (::fstat(file.number, &status) != 0 || !S_ISREG(status.st_mode)) {
        reading.failure = "is no longer a regular file";
        return reading;
    }
    if (size > kBlock) ::posix_fadvise(file.number, 0, 0, POSIX_FADV_SEQUENTIAL);
    std::uint64_t offset = 0;
    while (true) {
        if (stop && stop()) {
            reading.failure = "interrupted";
            return reading;
        }
        const ssize_t got = read_at(file.number, block_.data(), block_.size(), offset);
        if (got > 0) {
            sink(block_.data(), static_cast<std::size_t>(got));
            offset += static_cast<std::uint64_t>(got);
        } else if (got == 0) {
            break;
        } else {
            if (device_is_gone(errno) || !card_is_there()) throw_gone();
            if (!read_around(file.number, offset, size, sink, reading)) break;
        }
    }
    reading.bytes = offset;
    if (reading.failure.empty() && offset != size)
        reading.failure = "its size changed from " + grouped(size) + " to " + grouped(offset) +
                          " bytes while it was read";
    return reading;
}

/// Sector by sector over one block where reading failed; zeros for what cannot be read. False when
/// the rest of the file is given up.
bool CardReader::read_around(int descriptor, std::uint64_t& offset, std::uint64_t size,
                             const Sink& sink, CardReading& reading) {
    // All that the card promised is there: whatever fails behind it is nothing to us.
    if (offset >= size) return false;
    const std::uint64_t block_end = std::min(offset + kBlock, size);
    std::size_t step = kSector;
    int failures = 0;
    while (offset < block_end) {
        const std::size_t to_boundary = kSector - static_cast<std::size_t>(offset % kSector);
        const std::size_t count =
            static_cast<std::size_t>(std::min<std::uint64_t>(to_boundary, size - offset));
        const ssize_t got = read_at(descriptor, block_.data(), count, offset);
        if (got == 0) return false;
        if (got > 0) {
            sink(block_.data(), static_cast<std::size_t>(got));
            offset += static_cast<std::uint64_t>(got);
            step = kSector;
            continue;
        }
        const int why = errno;
        if (device_is_gone(why) || !card_is_there()) throw_gone();
        if (++failures == kMostFailures) {
            reading.failure =
                std::string("given up after byte ") + grouped(offset) + ": " + std::strerror(why);
            return false;
        }
        const std::size_t skip = static_cast<std::size_t>(
            std::min<std::uint64_t>({to_boundary + step - kSector, kBlock, size - offset}));
        if (reading.unreadable == 0) reading.first_unreadable = offset;
        std::fill_n(block_.begin(), skip, '\0');
        sink(block_.data(), skip);
        offset += skip;
        reading.unreadable += skip;
        step *= 2;
    }
    return true;
}

}  // namespace hearwood
