#include "survey/zone_data.h"

#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <fstream>

#include "base/text.h"

#ifdef HEARWOOD_ZONES_TAR
__asm__(
    ".section .rodata\n.balign 16\n"
    ".global hearwood_zones_begin\nhearwood_zones_begin:\n.incbin \"" HEARWOOD_ZONES_TAR
    "\"\n"
    ".global hearwood_zones_end\nhearwood_zones_end:\n.byte 0\n.previous\n");
extern "C" const char hearwood_zones_begin[], hearwood_zones_end[];
#endif

namespace hearwood {
namespace {

namespace fs = std::filesystem;
using std::chrono::seconds;

constexpr const char* kSystemList = "/usr/share/zoneinfo/tzdata.zi";

// ustar (POSIX.1-1988, pax(1) "ustar Interchange Format"): a block of 512 bytes for each member,
// its content behind it in whole blocks.
constexpr std::size_t kTarBlock = 512;

struct Member {
    std::string name;
    char kind;  ///< '0' or 0: regular; '1', '2': a link
    std::string link;
    std::string_view content;
};

std::string field(std::string_view block, std::size_t at, std::size_t length) {
    const std::string_view whole = block.substr(at, length);
    return std::string(whole.substr(0, std::min(whole.find('\0'), whole.size())));
}

/// Calls use(member) for each until it says true.
template <class Use>
void walk(std::string_view tar, Use use) {
    while (tar.size() >= kTarBlock && tar[0] != '\0') {
        const std::string prefix = field(tar, 345, 155);
        Member member{(prefix.empty() ? "" : prefix + "/") + field(tar, 0, 100),
                      tar[156],
                      field(tar, 157, 100),
                      {}};
        const std::size_t size = std::strtoull(field(tar, 124, 12).c_str(), nullptr, 8);
        if (member.name.starts_with("./")) member.name.erase(0, 2);
        const std::size_t blocks = (size + kTarBlock - 1) / kTarBlock * kTarBlock;
        if (tar.size() < kTarBlock + blocks) return;
        member.content = tar.substr(kTarBlock, size);
        if (use(member)) return;
        tar.remove_prefix(kTarBlock + blocks);
    }
}

/// Big-endian, signed.
std::int64_t number(std::string_view bytes, std::size_t at, int size) {
    std::uint64_t value = static_cast<signed char>(bytes[at]) < 0 ? ~std::uint64_t{0} : 0;
    for (int i = 0; i < size; ++i)
        value = value << 8 | static_cast<unsigned char>(bytes[at + static_cast<std::size_t>(i)]);
    return static_cast<std::int64_t>(value);
}

struct ZoneHeader {
    std::size_t utc_flags, standard_flags, leaps, times, types, letters;
    std::size_t size(std::size_t time) const {
        return times * (time + 1) + types * 6 + letters + leaps * (time + 4) + standard_flags +
               utc_flags;
    }
};
constexpr std::size_t kHeader = 44;

std::optional<ZoneHeader> header_of(std::string_view bytes) {
    if (bytes.size() < kHeader || !bytes.starts_with("TZif") || bytes[4] < '2') return {};
    const auto count = [&](std::size_t at) {
        return static_cast<std::size_t>(number(bytes, at, 4));
    };
    ZoneHeader header{count(20), count(24), count(28), count(32), count(36), count(40)};
    for (const std::size_t one : {header.utc_flags, header.standard_flags, header.leaps,
                                  header.times, header.types, header.letters})
        if (one > bytes.size()) return {};
    return header;
}

/// "2031a" of "# version 2031a"; empty where that is not how it begins.
std::string version_in(const std::string& first_line) {
    constexpr std::string_view kMark = "# version ";
    return first_line.starts_with(kMark) ? printable(first_line.substr(kMark.size())) : "";
}

std::string system_version() {
    std::ifstream file(kSystemList);
    std::string line;
    std::getline(file, line);
    return version_in(line);
}

std::string built_in_version() {
    const auto list = file_in_tar(built_in_zones(), "tzdata.zi");
    return list ? version_in(std::string(list->substr(0, list->find('\n')))) : "";
}

}  // namespace

std::optional<std::string_view> file_in_tar(std::string_view tar, std::string_view name) {
    std::string wanted(name);
    for (int links = 0; links < 8; ++links) {
        std::optional<Member> found;
        walk(tar, [&](const Member& member) {
            if (member.name == wanted) found = member;
            return found.has_value();
        });
        if (!found) return {};
        if (found->kind == '0' || found->kind == '\0') return found->content;
        if (found->kind == '1')  // a hard link names its place in the archive
            wanted = fs::path(found->link).lexically_normal().generic_string();
        else if (found->kind == '2')
            wanted =
                (fs::path(wanted).parent_path() / found->link).lexically_normal().generic_string();
        else
            return {};
    }
    return {};
}

std::vector<std::string> names_in_tar(std::string_view tar) {
    std::vector<std::string> names;
    walk(tar, [&](const Member& member) {
        if (member.kind != '5') names.push_back(member.name);  // 5: a folder
        return false;
    });
    return names;
}

std::optional<std::vector<OffsetChange>> read_zone_file(std::string_view bytes, seconds from,
                                                        seconds to) {
    const auto old = header_of(bytes);
    if (!old || bytes.size() < kHeader + old->size(4)) return {};
    bytes.remove_prefix(kHeader + old->size(4));
    const auto header = header_of(bytes);
    if (!header || header->types == 0 || bytes.size() < kHeader + header->size(8)) return {};
    bytes.remove_prefix(kHeader);
    const std::size_t indices = header->times * 8, types = indices + header->times;
    const auto offset_of = [&](std::size_t type) {
        return seconds(number(bytes, types + type * 6, 4));
    };

    // The first type holds before the first change.
    std::vector<OffsetChange> changes{{from, offset_of(0)}};
    for (std::size_t i = 0; i < header->times; ++i) {
        const seconds since{number(bytes, i * 8, 8)};
        const auto type = static_cast<unsigned char>(bytes[indices + i]);
        if (type >= header->types) return {};
        if (since >= to) break;
        const seconds offset = offset_of(type);
        if (since <= from)
            changes.front().offset = offset;
        else if (changes.back().offset != offset)
            changes.push_back({since, offset});
    }
    return changes;
}

std::string_view built_in_zones() {
#ifdef HEARWOOD_ZONES_TAR
    return {hearwood_zones_begin,
            static_cast<std::size_t>(hearwood_zones_end - hearwood_zones_begin)};
#else
    return {};
#endif
}

bool built_in_zones_hold() {
    // "2031a" before "2031b": versions are in the order of their letters.
    static const bool hold = !built_in_zones().empty() && system_version() < built_in_version();
    return hold;
}

std::string zone_data_version() {
    if (built_in_zones_hold()) return built_in_version() + ", built in";
    const std::string version = system_version();
    return version.empty() ? "of unknown version" : version;
}

}  // namespace hearwood
