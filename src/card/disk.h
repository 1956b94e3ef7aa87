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
    /// the disk they are on, volumes as the disks below them, images as the disk of their file.
    /// Where no block device is known (network, a file system in user space) the number of the
    /// mount.
    std::set<std::string> devices;
    /// As MountedDisk has them.
    std::set<std::string> own_devices, all_devices;
    std::string file_system;  ///< its kind: "ext4", "exfat"; empty where the system does not tell
    /// The kind is one of those where a direct read gives what the device holds. False: not known.
    bool reads_past_memory = false;
    bool known_device = false;  ///< false: devices has only the number of the mount
    /// It can be taken out (a card, a stick, a disk on a cable), or is an image mounted as a disk.
    bool portable = false;
    std::uint64_t largest_file = static_cast<std::uint64_t>(-1);  ///< bytes
    bool in_memory = false;  ///< gone when the computer is switched off

    /// "sda, exfat".
    std::string words() const;
};

/// The disk of this folder, or of the nearest one above it that is there.
Disk disk_of(const std::filesystem::path& folder);

/// The uppermost folder that is seen of the file system on which this one lies.
std::filesystem::path mount_point_of(const std::filesystem::path& folder);

/// True when `inner` is `outer` or lies below it, by whatever path: the same folder can be mounted
/// in several places. Of what is not there yet, the nearest folder above decides.
bool lies_inside(const std::filesystem::path& inner, const std::filesystem::path& outer);

/// True when both lie on one file system, that is, when formatting one takes the other too.
bool share_a_file_system(const std::filesystem::path& a, const std::filesystem::path& b);

/// True when `other` lies on the disk that is mounted as `card`: on another partition of it, say,
/// or on an image in a file of it.
bool lies_on_device_of(const Disk& other, const Disk& card);

/// True when losing one device can lose both.
bool share_a_device(const Disk& a, const Disk& b);

/// True when no disk came or went between: it is the same image, too.
bool is_the_disk(const Disk& now, const Disk& before);

/// How many disks these are, those that share a device counted once.
std::size_t count_disks(std::span<const Disk> disks);

/// The nearest folder on the way up that is there; "." for a relative path of which nothing is.
std::filesystem::path nearest_existing(const std::filesystem::path& path);

}  // namespace hearwood
