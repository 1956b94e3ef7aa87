#include "card/disk.h"

#include <algorithm>
#include <array>
#include <optional>
#include <vector>

#include "base/text.h"
#include "platform/disk.h"
#include "platform/file_status.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

// Local file systems of the kernel, in which O_DIRECT goes to the device. In user space, over the
// network and in memory nobody can tell.
constexpr std::array<std::string_view, 9> kReadPastMemory = {
    "ext2", "ext3", "ext4", "xfs", "btrfs", "f2fs", "vfat", "msdos", "exfat"};
// FAT writes the length of a file in 32 bits.
constexpr std::uint64_t kLargestOnFat = 0xffffffff;

/// Where a path leads: the number of the file system, and the path inside of it.
struct InFileSystem {
    std::uint64_t device = 0;
    fs::path path;
};

/// Where the folder of a file system that is mounted at `mount_point` is seen from here when the
/// root of all paths is no mount of its own (a plain chroot): its way in the file system then
/// begins with folders that cannot be seen, so these are left away until what remains leads to it.
std::optional<fs::path> seen_from_here(const fs::path& folder, const fs::path& mount_point) {
    const auto wanted = status_of(mount_point, Links::follow);
    for (auto from = folder.begin(); wanted && from != folder.end(); ++from) {
        fs::path seen = "/";
        for (auto part = from; part != folder.end(); ++part) seen /= part->relative_path();
        const auto status = status_of(seen, Links::follow);
        if (status && seen != mount_point && status->device == wanted->device &&
            status->number == wanted->number)
            return seen;
    }
    return std::nullopt;
}

bool have_one_in_common(const std::set<std::string>& a, const std::set<std::string>& b) {
    return std::any_of(a.begin(), a.end(),
                       [&b](const std::string& one) { return b.contains(one); });
}

std::optional<InFileSystem> in_file_system(const fs::path& path) {
    std::error_code error;
    const fs::path full = fs::weakly_canonical(fs::absolute(path), error);
    const fs::path there = nearest_existing(full);
    const auto status = status_of(there, Links::follow);
    if (error || !status) return std::nullopt;
    const MountedDisk disk = mounted_disk(there);
    if (disk.mount_point.empty()) return InFileSystem{status->device, full};
    fs::path folder = disk.mounted_folder;
    if (mounted_disk("/").mount_point.empty())
        folder = seen_from_here(folder, disk.mount_point).value_or(folder);
    return InFileSystem{status->device,
                        (folder / full.lexically_relative(disk.mount_point)).lexically_normal()};
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
    const MountedDisk mounted = mounted_disk(fs::canonical(nearest_existing(folder), error));
    disk.devices = mounted.devices;
    disk.all_devices = mounted.all_devices;
    disk.own_devices = mounted.own_devices;
    disk.known_device = mounted.known_device;
    disk.portable = mounted.portable;
    disk.in_memory = mounted.in_memory;
    disk.file_system = mounted.file_system;
    disk.reads_past_memory = std::find(kReadPastMemory.begin(), kReadPastMemory.end(),
                                       disk.file_system) != kReadPastMemory.end();
    if (disk.file_system == "vfat" || disk.file_system == "msdos")
        disk.largest_file = kLargestOnFat;
    return disk;
}

fs::path mount_point_of(const fs::path& folder) {
    std::error_code error;
    const MountedDisk disk = mounted_disk(fs::canonical(nearest_existing(folder), error));
    return disk.mount_point.empty() ? folder : disk.mount_point;
}

bool lies_inside(const fs::path& inner, const fs::path& outer) {
    const auto in = in_file_system(inner), out = in_file_system(outer);
    return in && out && in->device == out->device && lies_in(in->path, out->path);
}

bool share_a_file_system(const fs::path& a, const fs::path& b) {
    const auto one = in_file_system(a), other = in_file_system(b);
    return one && other && one->device == other->device;
}

bool lies_on_device_of(const Disk& other, const Disk& card) {
    return have_one_in_common(card.own_devices, other.all_devices);
}

bool share_a_device(const Disk& a, const Disk& b) {
    return have_one_in_common(a.devices, b.devices);
}

bool is_the_disk(const Disk& now, const Disk& before) {
    return have_one_in_common(now.own_devices, before.own_devices);
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
