// Which disk a folder lies on, and what is known of reading it.
#pragma once

#include <cstdint>
#include <filesystem>
#include <set>
#include <span>
#include <string>

namespace hearwood {

struct Disk {
    /// The devices that hold it, as the system calls them ("sda", "nvme0n1"): partitions count as
    /// the disk they are on, volumes as the disks below them. Where no block device is known
    /// (network, a file system in user space) the number of the mount.
    std::set<std::string> devices;
    std::string file_system;  ///< its kind: "ext4", "exfat"; empty where the system does not tell
    /// The kind is one of those where a direct read gives what the device holds. False: not known.
    bool reads_past_memory = false;
    std::uint64_t largest_file = static_cast<std::uint64_t>(-1);  ///< bytes

    /// "sda, exfat".
    std::string words() const;
};

/// The disk of this folder, or of the nearest one above it that is there.
Disk disk_of(const std::filesystem::path& folder);

/// True when losing one device can lose both.
bool share_a_device(const Disk& a, const Disk& b);

/// How many disks these are, those that share a device counted once.
std::size_t count_disks(std::span<const Disk> disks);

/// The nearest folder on the way up that is there; "." for a relative path of which nothing is.
std::filesystem::path nearest_existing(const std::filesystem::path& path);

}  // namespace hearwood
