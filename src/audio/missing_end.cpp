#include "audio/missing_end.h"

#include <algorithm>
#include <array>
#include <string>
#include <string_view>

namespace hearwood {
namespace {

constexpr int kMostChunksBefore = 1'000;

/// Where in the file the header says that the samples lie.
struct Promise {
    std::uint64_t begin, end;
};

/// The big-endian number in these bytes.
std::uint64_t number(std::string_view bytes) {
    std::uint64_t value = 0;
    for (const char byte : bytes) value = value << 8 | static_cast<unsigned char>(byte);
    return value;
}

std::string bytes_at(ByteSource& source, std::uint64_t offset, std::size_t count) {
    std::string bytes(count, '\0');
    bytes.resize(source.read_at(offset, bytes.data(), count));
    return bytes;
}

/// Walks chunks of four letters, a size of `size_bytes` bytes, and that many more, padded to
/// `align`.
std::optional<Promise> chunk_named(ByteSource& source, std::string_view name, std::uint64_t offset,
                                   std::size_t size_bytes, std::uint64_t align) {
    const std::uint64_t no_size = size_bytes == 8 ? ~std::uint64_t{0} : 0xFFFF'FFFF;
    for (int i = 0; i < kMostChunksBefore; ++i) {
        const std::string head = bytes_at(source, offset, 4 + size_bytes);
        if (head.size() < 4 + size_bytes) return std::nullopt;
        const std::uint64_t size = number(std::string_view(head).substr(4));
        const std::uint64_t begin = offset + head.size();
        if (size == no_size || size > ~std::uint64_t{0} / 4) return std::nullopt;
        if (std::string_view(head).substr(0, 4) == name) return Promise{begin, begin + size};
        offset = begin + (size + align - 1) / align * align;
    }
    return std::nullopt;
}

/// The AU header: offset of the samples at byte 4, their size at byte 8, all ones where unknown.
std::optional<Promise> promise_of_au(ByteSource& source) {
    const std::string head = bytes_at(source, 4, 8);
    if (head.size() < 8) return std::nullopt;
    const std::uint64_t begin = number(std::string_view(head).substr(0, 4));
    const std::uint64_t size = number(std::string_view(head).substr(4));
    if (size == 0xFFFF'FFFF) return std::nullopt;
    return Promise{begin, begin + size};
}

std::optional<Promise> promise_of(ByteSource& source, std::string_view id) {
    if (id == ".snd") return promise_of_au(source);
    if (id == "FORM") return chunk_named(source, "SSND", 12, 4, 2);
    if (id == "caff") return chunk_named(source, "data", 8, 8, 1);
    return std::nullopt;
}

/// Whether the file ends with a whole page that is marked as its stream's last.
bool ends_with_last_page(ByteSource& source) {
    constexpr std::uint64_t kMostPageBytes = 65'307;
    constexpr std::size_t kPageHeader = 27;
    constexpr char kLastPage = 4;
    const std::uint64_t begin = source.size() - std::min(source.size(), kMostPageBytes);
    const std::string end = bytes_at(source, begin, static_cast<std::size_t>(kMostPageBytes));
    const std::size_t at = end.rfind("OggS");
    if (at == std::string::npos || end.size() - at < kPageHeader) return false;
    const std::string_view page = std::string_view(end).substr(at);
    const auto segments = static_cast<unsigned char>(page[kPageHeader - 1]);
    if (page.size() < kPageHeader + segments) return false;
    std::size_t length = kPageHeader + segments;
    for (const char segment : page.substr(kPageHeader, segments))
        length += static_cast<unsigned char>(segment);
    return page.size() >= length && (page[5] & kLastPage) != 0;
}

}  // namespace

std::optional<Damage> missing_end(ByteSource& source, double seconds_there) {
    const std::string id = bytes_at(source, 0, 4);
    const std::uint64_t size = source.size();
    if (id == "OggS" && !ends_with_last_page(source))
        return Damage{DamageKind::truncated, size, 0, 0};
    const auto promise = promise_of(source, id);
    if (!promise || promise->end <= size || promise->begin >= size) return std::nullopt;
    const std::uint64_t lost = promise->end - size;
    const double seconds_a_byte = seconds_there / static_cast<double>(size - promise->begin);
    return Damage{DamageKind::truncated, size, lost, static_cast<double>(lost) * seconds_a_byte};
}

}  // namespace hearwood
