#include "card/card_reader.h"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <utility>

#include "base/error.h"
#include "base/text.h"
#include "platform/file_status.h"

namespace hearwood {
namespace {

constexpr std::size_t kSector = 4096;
// On a dying card each failing read may take seconds: the steps over spoilt ground grow, and end.
constexpr int kMostFailures = 64;
// After so many files in a row of which nothing comes, one that came is tried again.
constexpr int kDeadMeansGone = 3;

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
    const OpenFile file = open_file(last_read_);
    if (!file.is_open()) return false;
    file.drop_from_memory();
    char bytes[kSector];
    return file.read_at(0, bytes, sizeof bytes).bytes > 0;
}

bool CardReader::card_is_there() const {
    const auto status = status_of(card_, Links::follow);
    return status && status->is_folder();
}

bool CardReader::is_own_file(const std::string& path, std::uint64_t device,
                             std::uint64_t number) const {
    const auto status = status_of(card_ / path, Links::look_at_link);
    return status && status->device == device && status->number == number;
}

OpenFile CardReader::open_file(const std::string& path) const {
    // No link is followed: what was listed was a regular file.
    return {card_ / path,
            OpenFor::reading,
            {.follow_link = false, .without_trace = true, .never_wait = true}};
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
    const OpenFile file = open_file(path);
    if (!file.is_open()) {
        const int why = file.error();
        if (device_is_gone(why) || !card_is_there()) throw_gone();
        reading.failure = std::string("cannot be opened: ") + std::strerror(why);
        return reading;
    }
    const auto status = file.status();
    if (!status || !status->is_regular()) {
        reading.failure = "is no longer a regular file";
        return reading;
    }
    if (size > kBlock) file.expect_reading_on();
    std::uint64_t offset = 0;
    while (true) {
        if (stop && stop()) {
            reading.failure = "interrupted";
            return reading;
        }
        const Transfer got = file.read_at(offset, block_.data(), block_.size());
        if (got.error != 0) {
            if (device_is_gone(got.error) || !card_is_there()) throw_gone();
            if (!read_around(file, offset, size, sink, reading)) break;
        } else if (got.bytes == 0) {
            break;
        } else {
            sink(block_.data(), got.bytes);
            offset += got.bytes;
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
bool CardReader::read_around(const OpenFile& file, std::uint64_t& offset, std::uint64_t size,
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
        const Transfer got = file.read_at(offset, block_.data(), count);
        if (got.error == 0 && got.bytes == 0) return false;
        if (got.error == 0) {
            sink(block_.data(), got.bytes);
            offset += got.bytes;
            step = kSector;
            continue;
        }
        if (device_is_gone(got.error) || !card_is_there()) throw_gone();
        if (++failures == kMostFailures) {
            reading.failure = std::string("given up after byte ") + grouped(offset) + ": " +
                              std::strerror(got.error);
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
