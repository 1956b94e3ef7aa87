// What the system knows of the disk below a folder.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <set>
#include <string>

namespace hearwood {

struct MountedDisk {
    /// The devices that hold it, as the system calls them ("sda", "nvme0n1"): partitions count as
    /// the disk they are on, volumes and a Btrfs as all disks below them, images as the disk of
    /// their file. Where no block device is known (network, a file system in user space) the number
    /// of the mount. Empty where the folder cannot be looked at.
    std::set<std::string> devices;
    /// These and all on the way to them, such as an image and what holds it.
    std::set<std::string> all_devices;
    /// The same with images as disks of their own.
    std::set<std::string> own_devices;
    bool known_device = false;  ///< false: devices has only the number of the mount
    /// It can be taken out (a card, a stick, a disk on a cable), or is an image mounted as a disk.
    bool portable = false;
    /// It, or the file of its image, is held in memory: gone when the computer is switched off.
    bool in_memory = false;
    std::string file_system;  ///< its kind: "ext4", "exfat"; empty where the system does not tell
    std::filesystem::path mount_point;     ///< empty where the system does not tell
    std::filesystem::path mounted_folder;  ///< the folder of the file system that is seen there
};

/// Where the system tells of its disks; others only where that is tried.
struct SystemTables {
    std::filesystem::path devices = "/sys/dev/block", mounts = "/proc/self/mountinfo",
                          btrfs = "/sys/fs/btrfs";
};

/// The disk of a folder that is there, its path canonical.
MountedDisk mounted_disk(const std::filesystem::path& folder, const SystemTables& tables = {});

/// Whether the path is the folder or lies below it, by their parts alone.
bool lies_in(const std::filesystem::path& path, const std::filesystem::path& folder);

/// Bytes that this user can still write there; nothing when the system does not tell, `error` (of
/// <cerrno>) then says why.
std::optional<std::uint64_t> free_bytes_at(const std::filesystem::path& existing, int& error);

}  // namespace hearwood
