#include "card/disk.h"

#include <sys/stat.h>
#include <sys/sysmacros.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <fstream>
#include <optional>
#include <sstream>
#include <vector>

#include "base/text.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

// Local file systems of the kernel, in which O_DIRECT goes to the device. In user space, over the
// network and in memory nobody can tell.
constexpr std::array<std::string_view, 9> kReadPastMemory = {
    "ext2", "ext3", "ext4", "xfs", "btrfs", "f2fs", "vfat", "msdos", "exfat"};
// FAT writes the length of a file in 32 bits.
constexpr std::uint64_t kLargestOnFat = 0xffffffff;

struct Mount {
    fs::path point;
    std::string kind, source;
};

/// Blanks and the like stand in mountinfo as "\040".
std::string unescaped(const std::string& text) {
    std::string plain;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const bool octal = text[i] == '\\' && i + 3 < text.size() &&
                           text.find_first_not_of("01234567", i + 1) > i + 3;
        if (octal) {
            plain += static_cast<char>(std::strtol(text.substr(i + 1, 3).c_str(), nullptr, 8));
            i += 3;
        } else {
            plain += text[i];
        }
    }
    return plain;
}

/// proc(5): ID PARENT MAJOR:MINOR ROOT POINT OPTIONS [OPTIONAL...] - KIND SOURCE SUPEROPTIONS
std::optional<Mount> parse_mount(const std::string& line) {
    std::istringstream words(line);
    std::vector<std::string> before;
    std::string word;
    while (words >> word && word != "-") before.push_back(word);
    Mount mount;
    if (before.size() < 6 || !(words >> mount.kind >> mount.source)) return std::nullopt;
    mount.point = unescaped(before[4]);
    mount.source = unescaped(mount.source);
    return mount;
}

bool lies_in(const fs::path& path, const fs::path& folder) {
    const auto [rest, in] = std::mismatch(folder.begin(), folder.end(), path.begin(), path.end());
    static_cast<void>(in);
    return rest == folder.end() || rest->empty();
}

/// The mount that shows this path: the deepest, and of those the latest.
std::optional<Mount> mount_of(const fs::path& path) {
    std::optional<Mount> found;
    std::size_t depth = 0;
    std::ifstream table("/proc/self/mountinfo");
    for (std::string line; std::getline(table, line);) {
        const auto mount = parse_mount(line);
        if (!mount || !lies_in(path, mount->point)) continue;
        const std::size_t length = mount->point.native().size();
        if (found && length < depth) continue;
        found = mount;
        depth = length;
    }
    return found;
}

/// The whole disks below a block device. Volumes can stand on volumes; a loop would be a fault of
/// the system's, and is not followed for ever.
void add_devices(const fs::path& node, std::set<std::string>& devices, int depth = 0) {
    std::error_code error;
    bool has_parts = false;
    if (depth < 8)
        for (const auto& part : fs::directory_iterator(node / "slaves", error)) {
            has_parts = true;
            add_devices(fs::canonical(part.path(), error), devices, depth + 1);
        }
    if (has_parts) return;
    const bool partition = fs::exists(node / "partition", error);
    devices.insert((partition ? node.parent_path() : node).filename().native());
}

std::string number_of(dev_t device) {
    return std::to_string(major(device)) + ":" + std::to_string(minor(device));
}

}  // namespace

fs::path nearest_existing(const fs::path& path) {
    fs::path at = path;
    std::error_code ignored;
    while (!at.empty() && !fs::exists(at, ignored) && at != at.parent_path()) at = at.parent_path();
    return at.empty() ? fs::path(".") : at;
}

Disk disk_of(const fs::path& folder) {
    Disk disk;
    std::error_code error;
    const fs::path at = fs::canonical(nearest_existing(folder), error);
    struct stat status {};
    if (::stat(at.c_str(), &status) != 0) return disk;
    const auto mount = mount_of(at);
    dev_t device = status.st_dev;
    if (mount) {
        disk.file_system = mount->kind;
        struct stat source {};
        if (mount->source.starts_with("/") && ::stat(mount->source.c_str(), &source) == 0 &&
            S_ISBLK(source.st_mode))
            device = source.st_rdev;
    }
    disk.reads_past_memory = std::find(kReadPastMemory.begin(), kReadPastMemory.end(),
                                       disk.file_system) != kReadPastMemory.end();
    if (disk.file_system == "vfat" || disk.file_system == "msdos")
        disk.largest_file = kLargestOnFat;
    const fs::path node = fs::canonical("/sys/dev/block/" + number_of(device), error);
    if (!error) add_devices(node, disk.devices);
    if (disk.devices.empty()) disk.devices.insert(number_of(status.st_dev));
    return disk;
}

bool share_a_device(const Disk& a, const Disk& b) {
    return std::any_of(a.devices.begin(), a.devices.end(),
                       [&b](const std::string& device) { return b.devices.contains(device); });
}

std::size_t count_disks(std::span<const Disk> disks) {
    std::size_t count = 0;
    for (std::size_t i = 0; i < disks.size(); ++i)
        count += std::none_of(disks.begin(), disks.begin() + static_cast<std::ptrdiff_t>(i),
                              [&](const Disk& before) { return share_a_device(before, disks[i]); });
    return count;
}

std::string Disk::words() const {
    const std::string names =
        join(std::vector<std::string>(devices.begin(), devices.end()), " and ");
    return file_system.empty() ? names : names + ", " + file_system;
}

}  // namespace hearwood
