#include "card/disk.h"

#include <algorithm>
#include <array>
#include <vector>

#include "base/text.h"
#include "platform/disk.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

// Local file systems of the kernel, in which O_DIRECT goes to the device. In user space, over the
// network and in memory nobody can tell.
constexpr std::array<std::string_view, 9> kReadPastMemory = {
    "ext2", "ext3", "ext4", "xfs", "btrfs", "f2fs", "vfat", "msdos", "exfat"};
// FAT writes the length of a file in 32 bits.
constexpr std::uint64_t kLargestOnFat = 0xffffffff;

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
    const MountedDisk mounted = mounted_disk(fs::canonical(nearest_existing(folder), error));
    disk.devices = mounted.devices;
    disk.file_system = mounted.file_system;
    disk.reads_past_memory = std::find(kReadPastMemory.begin(), kReadPastMemory.end(),
                                       disk.file_system) != kReadPastMemory.end();
    if (disk.file_system == "vfat" || disk.file_system == "msdos")
        disk.largest_file = kLargestOnFat;
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
