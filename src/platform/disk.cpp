#include "platform/disk.h"

#include <sys/statvfs.h>

#ifdef __linux__
#include <sys/sysmacros.h>
#endif

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <fstream>
#include <sstream>
#include <vector>

#include "platform/file_status.h"

namespace hearwood {
namespace {

namespace fs = std::filesystem;

// Linux tells in /proc and /sys. Elsewhere they are not there: the kind of file system is then
// unknown, and a disk is the number of its mount, so that two parts of one disk count as two.

struct Mount {
    fs::path root, point;
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
    mount.root = unescaped(before[3]);
    mount.point = unescaped(before[4]);
    mount.source = unescaped(mount.source);
    return mount;
}

/// The mount that shows this path: the deepest, and of those the latest.
std::optional<Mount> mount_of(const fs::path& path, const SystemTables& tables) {
    std::optional<Mount> found;
    std::size_t depth = 0;
    std::ifstream table(tables.mounts);
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

fs::path whole_disk(const fs::path& node) {
    std::error_code error;
    return fs::exists(node / "partition", error) ? node.parent_path() : node;
}

fs::path node_of_file(const fs::path& file, const SystemTables& tables);

/// The file of an image that is mounted as a disk; empty for other disks.
fs::path file_of_image(const fs::path& whole) {
    std::ifstream told(whole / "loop" / "backing_file");
    std::string file;
    std::getline(told, file);
    return file;
}

bool is_of_memory(const std::optional<Mount>& mount) {
    return mount && (mount->kind == "tmpfs" || mount->kind == "ramfs");
}

/// All devices of the file system that lies on this one: a mount names one of a Btrfs's only.
std::vector<fs::path> nodes_beside(const fs::path& node, const SystemTables& tables) {
    std::error_code error;
    for (const auto& each : fs::directory_iterator(tables.btrfs, error)) {
        std::vector<fs::path> nodes;
        for (const auto& device : fs::directory_iterator(each.path() / "devices", error))
            nodes.push_back(fs::canonical(device.path(), error));
        if (std::find(nodes.begin(), nodes.end(), node) != nodes.end()) return nodes;
    }
    return {node};
}

/// The whole disks below a block device. Volumes can stand on volumes; a loop would be a fault of
/// the system's, and is not followed for ever.
void add_devices(const fs::path& node, MountedDisk& disk, const SystemTables& tables,
                 bool in_image = false, int depth = 0) {
    const fs::path whole = whole_disk(node);
    const std::string name = whole.filename().native();
    disk.all_devices.insert(name);
    disk.in_memory = disk.in_memory || name.starts_with("ram") || name.starts_with("zram");
    std::error_code error;
    bool has_parts = false;
    if (depth < 8)
        for (const auto& part : fs::directory_iterator(node / "slaves", error)) {
            has_parts = true;
            add_devices(fs::canonical(part.path(), error), disk, tables, in_image, depth + 1);
        }
    if (has_parts) return;
    if (!in_image) disk.own_devices.insert(name);
    const fs::path image = file_of_image(whole);
    const fs::path below = depth < 8 && !image.empty() ? node_of_file(image, tables) : fs::path();
    if (!image.empty() && is_of_memory(mount_of(image, tables))) disk.in_memory = true;
    if (below.empty()) disk.devices.insert(name);
    if (!below.empty())
        for (const fs::path& each : nodes_beside(below, tables))
            add_devices(each, disk, tables, true, depth + 1);
}

/// Cards, sticks and disks on a cable; and images, which are made to be carried about.
bool can_be_taken_out(const fs::path& node) {
    const fs::path whole = whole_disk(node);
    std::ifstream removable(whole / "removable");
    char flag = '0';
    removable >> flag;
    const std::string name = whole.filename().native();
    return flag == '1' || name.starts_with("mmcblk") || name.starts_with("loop") ||
           whole.native().find("/usb") != std::string::npos;
}

/// "8:1", as /sys has it.
std::string number_of(std::uint64_t device) {
#ifdef __linux__
    return std::to_string(gnu_dev_major(device)) + ":" + std::to_string(gnu_dev_minor(device));
#else
    return std::to_string(device);
#endif
}

/// Its folder in /sys; empty where it is no block device.
fs::path node_of(std::uint64_t device, const SystemTables& tables) {
    std::error_code error;
    const fs::path node = fs::canonical(tables.devices / number_of(device), error);
    return error ? fs::path() : node;
}

/// The block device that is mounted there, as far as the table of mounts knows it. Btrfs, say, has
/// numbers of its own for what lies on it.
std::uint64_t device_mounted(const std::optional<Mount>& mount, std::uint64_t device) {
    if (!mount || !mount->source.starts_with("/")) return device;
    const auto source = status_of(mount->source, Links::follow);
    return source && source->kind == FileKind::block_device ? source->stands_for : device;
}

fs::path node_of_file(const fs::path& file, const SystemTables& tables) {
    const auto status = status_of(file, Links::follow);
    return node_of(status ? device_mounted(mount_of(file, tables), status->device) : 0, tables);
}

}  // namespace

MountedDisk mounted_disk(const fs::path& folder, const SystemTables& tables) {
    MountedDisk disk;
    const auto status = status_of(folder, Links::follow);
    if (!status) return disk;
    const auto mount = mount_of(folder, tables);
    if (mount) {
        disk.file_system = mount->kind;
        disk.mount_point = mount->point;
        disk.mounted_folder = mount->root;
    }
    const fs::path node = node_of(device_mounted(mount, status->device), tables);
    if (!node.empty()) {
        for (const fs::path& each : nodes_beside(node, tables)) {
            add_devices(each, disk, tables);
            disk.portable = disk.portable || can_be_taken_out(each);
        }
    }
    disk.in_memory = disk.in_memory || is_of_memory(mount);
    disk.known_device = !disk.devices.empty();
    if (disk.devices.empty())
        disk.devices = disk.own_devices = disk.all_devices = {number_of(status->device)};
    return disk;
}

bool lies_in(const fs::path& path, const fs::path& folder) {
    const auto [rest, in] = std::mismatch(folder.begin(), folder.end(), path.begin(), path.end());
    static_cast<void>(in);
    return rest == folder.end() || rest->empty();
}

std::optional<std::uint64_t> free_bytes_at(const fs::path& existing, int& error) {
    struct statvfs status {};
    error = ::statvfs(existing.c_str(), &status) == 0 ? 0 : errno;
    if (error != 0) return std::nullopt;
    return static_cast<std::uint64_t>(status.f_bavail) * status.f_frsize;
}

}  // namespace hearwood
