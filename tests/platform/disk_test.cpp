// Which devices a folder counts for, on a machine of our own: the tables that the system would give
// (the layout is that of sysfs(5), Linux's Documentation/ABI, and of proc(5), mountinfo) are made
// by hand.
#include "platform/disk.h"

#include <sys/sysmacros.h>

#include <catch2/catch.hpp>
#include <set>
#include <string>

#include "platform/file_status.h"
#include "temporary_folder.h"

using namespace hearwood;
using hearwood::testing::TemporaryFolder;
namespace fs = std::filesystem;

namespace {

using Names = std::set<std::string>;
/// A file of another file system than the temporary folder's, on every Linux.
const char* const kElsewhere = "/proc/version";

class Machine {
  public:
    SystemTables tables() const {
        return {sys_.path() / "dev/block", sys_.path() / "mountinfo", sys_.path() / "btrfs"};
    }
    fs::path here() const { return fs::canonical(data_.path()); }
    MountedDisk disk() const { return mounted_disk(here(), tables()); }

    /// A disk, or a part of one ("sda/sda1").
    void device(const std::string& name) const {
        fs::create_directories(sys_.path() / "devices" / name);
        if (name.find('/') != std::string::npos) write(name + "/partition", "1\n");
    }
    void write(const std::string& name, const std::string& text) const {
        sys_.file("devices/" + name, text);
    }
    void volume(const std::string& name, const std::string& below) const {
        fs::create_directories(sys_.path() / "devices" / name / "slaves");
        fs::create_directory_symlink(
            sys_.path() / "devices" / below,
            sys_.path() / "devices" / name / "slaves" / fs::path(below).filename());
    }
    /// A Btrfs that lies on this device, too.
    void btrfs(const std::string& id, const std::string& device) const {
        const fs::path devices = sys_.path() / "btrfs" / id / "devices";
        fs::create_directories(devices);
        fs::create_directory_symlink(sys_.path() / "devices" / device,
                                     devices / fs::path(device).filename());
    }
    void image(const std::string& name, const fs::path& file) const {
        write(name + "/loop/backing_file", file.string() + "\n");
    }
    /// The file system of `path` lies on this device.
    void put(const fs::path& path, const std::string& name) const {
        const auto number = status_of(path, Links::follow)->device;
        fs::create_directories(sys_.path() / "dev/block");
        fs::create_directory_symlink(sys_.path() / "devices" / name,
                                     sys_.path() / "dev/block" /
                                         (std::to_string(gnu_dev_major(number)) + ":" +
                                          std::to_string(gnu_dev_minor(number))));
    }
    void mounts(const std::string& lines) const { sys_.file("mountinfo", lines); }

  private:
    TemporaryFolder sys_, data_;
};

}  // namespace

TEST_CASE("a partition counts as its disk") {
    const Machine machine;
    machine.device("pci/usb1/sda/sda1");
    machine.put(machine.here(), "pci/usb1/sda/sda1");
    const MountedDisk disk = machine.disk();
    CHECK(disk.known_device);
    CHECK(disk.devices == Names{"sda"});
    CHECK(disk.own_devices == Names{"sda"});
    CHECK(disk.all_devices == Names{"sda"});
    CHECK(disk.portable);  // on a cable
}

TEST_CASE("what is built in is not portable until the system says so") {
    const Machine machine;
    machine.device("pci/sda/sda1");
    machine.put(machine.here(), "pci/sda/sda1");
    CHECK_FALSE(machine.disk().portable);
    machine.write("pci/sda/removable", "1\n");
    CHECK(machine.disk().portable);
    const Machine slot;
    slot.device("pci/mmcblk0/mmcblk0p1");
    slot.put(slot.here(), "pci/mmcblk0/mmcblk0p1");
    CHECK(slot.disk().portable);
}

TEST_CASE("a volume counts as every disk below it, through volumes of volumes") {
    const Machine machine;
    for (const char* name : {"sda/sda2", "sdb", "sdc/sdc1"}) machine.device(name);
    machine.volume("dm-0", "dm-1");
    machine.volume("dm-0", "sdb");
    machine.volume("dm-1", "sda/sda2");
    machine.volume("dm-1", "sdc/sdc1");
    machine.put(machine.here(), "dm-0");
    const MountedDisk disk = machine.disk();
    CHECK(disk.devices == Names{"sda", "sdb", "sdc"});
    CHECK(disk.own_devices == disk.devices);
    CHECK(disk.all_devices == Names{"dm-0", "dm-1", "sda", "sdb", "sdc"});
}

TEST_CASE("an image counts as the disk of its file, and is a disk of its own where that is asked") {
    const Machine machine;
    machine.device("sda/sda1");
    machine.image("loop0", kElsewhere);
    machine.put(machine.here(), "loop0");
    machine.put(kElsewhere, "sda/sda1");
    const MountedDisk disk = machine.disk();
    CHECK(disk.devices == Names{"sda"});
    CHECK(disk.own_devices == Names{"loop0"});
    CHECK(disk.all_devices == Names{"loop0", "sda"});
    CHECK(disk.portable);
}

TEST_CASE("an image in a volume, whose file lies on a volume again") {
    const Machine machine;
    for (const char* name : {"sda", "sdb"}) machine.device(name);
    machine.image("loop3", kElsewhere);
    machine.volume("dm-5", "loop3");
    machine.volume("dm-6", "sda");
    machine.volume("dm-6", "sdb");
    machine.put(machine.here(), "dm-5");
    machine.put(kElsewhere, "dm-6");
    const MountedDisk disk = machine.disk();
    CHECK(disk.devices == Names{"sda", "sdb"});
    CHECK(disk.own_devices == Names{"loop3"});
    CHECK(disk.all_devices == Names{"dm-5", "dm-6", "loop3", "sda", "sdb"});
}

TEST_CASE("a Btrfs counts as every disk that it lies on, though its mount names one") {
    const Machine machine;
    for (const char* name : {"sda/sda1", "sdb", "sdc", "sdd"}) machine.device(name);
    machine.btrfs("11-22", "sdd");
    machine.btrfs("33-44", "sda/sda1");
    machine.btrfs("33-44", "sdb");
    machine.put(machine.here(), "sdb");
    CHECK(machine.disk().devices == Names{"sda", "sdb"});
    CHECK(machine.disk().own_devices == Names{"sda", "sdb"});

    const Machine below;  // the same below an image
    for (const char* name : {"sda", "sdb"}) {
        below.device(name);
        below.btrfs("33-44", name);
    }
    below.image("loop0", kElsewhere);
    below.put(below.here(), "loop0");
    below.put(kElsewhere, "sda");
    CHECK(below.disk().devices == Names{"sda", "sdb"});
    CHECK(below.disk().own_devices == Names{"loop0"});
}

TEST_CASE("what is held in memory is known, whatever file system is made of it") {
    for (const auto& [name, memory] : {std::pair("zram1", true), {"ram0", true}, {"sda", false}}) {
        const Machine machine;
        machine.device(name);
        machine.put(machine.here(), name);
        CHECK(machine.disk().in_memory == memory);
    }
    const Machine machine;
    machine.image("loop0", "/in/memory/image");
    machine.put(machine.here(), "loop0");
    machine.mounts("22 1 8:1 / / rw - ext4 root rw\n23 22 0:9 / /in/memory rw - tmpfs tmpfs rw\n");
    CHECK(machine.disk().in_memory);
    machine.mounts("22 1 8:1 / / rw - ext4 root rw\n");
    CHECK_FALSE(machine.disk().in_memory);
    machine.mounts("22 1 0:9 / / rw - ramfs root rw\n");
    CHECK(machine.disk().in_memory);
}

TEST_CASE("an image whose file is gone, or lies on no block device, is all that is known") {
    const Machine machine;
    machine.image("loop0", kElsewhere);
    machine.put(machine.here(), "loop0");
    CHECK(machine.disk().devices == Names{"loop0"});
    machine.image("loop0", "/no/such/image (deleted)");
    CHECK(machine.disk().devices == Names{"loop0"});
    CHECK(machine.disk().known_device);
}

TEST_CASE("an image that seems to lie on itself is not followed for ever") {
    const Machine machine;
    machine.image("loop0", machine.here() / "image");
    CHECK(machine.disk().all_devices.size() == 1);
    std::ofstream(machine.here() / "image") << "x";
    machine.put(machine.here(), "loop0");
    CHECK(machine.disk().devices == Names{"loop0"});
    CHECK(machine.disk().own_devices == Names{"loop0"});
}

TEST_CASE("without a block device the number of the mount stands for the disk") {
    const Machine machine;
    const MountedDisk disk = machine.disk();
    CHECK_FALSE(disk.known_device);
    CHECK_FALSE(disk.portable);
    REQUIRE(disk.devices.size() == 1);
    CHECK(disk.devices.begin()->find(':') != std::string::npos);
    CHECK(disk.own_devices == disk.devices);
    CHECK(disk.all_devices == disk.devices);
}

TEST_CASE("of mounts the deepest counts, and of those the latest; broken lines are passed over") {
    const Machine machine;
    const fs::path inner = machine.here() / "a card";
    fs::create_directory(inner);
    std::string escaped = inner.string();
    escaped.replace(escaped.find(' '), 1, "\\040");
    machine.mounts(
        "22 1 8:1 / / rw - ext4 root rw\n"
        "no line of mounts\n"
        "30 22 8:2 /old " +
        escaped +
        " rw shared:1 - vfat old rw\n"
        "31 22 8:3 /new\\040part " +
        escaped +
        " rw master:1 shared:2 - exfat new rw\n"
        "32 22 8:4 / " +
        escaped +
        "/below rw - xfs other rw\n"
        "33 22 8:5 / " +
        escaped + "s rw - btrfs neighbour rw\n");
    const MountedDisk disk = mounted_disk(inner, machine.tables());
    CHECK(disk.file_system == "exfat");
    CHECK(disk.mount_point == inner);
    CHECK(disk.mounted_folder == "/new part");
    CHECK(mounted_disk(machine.here(), machine.tables()).file_system == "ext4");
    machine.mounts("");
    CHECK(machine.disk().file_system.empty());
    CHECK(machine.disk().mount_point.empty());
}

TEST_CASE("a path lies in a folder by whole names only") {
    CHECK(lies_in("/a/b/c", "/a/b"));
    CHECK(lies_in("/a/b", "/a/b"));
    CHECK(lies_in("/a/b", "/a/b/"));
    CHECK(lies_in("/a", "/"));
    CHECK_FALSE(lies_in("/a/bc", "/a/b"));
    CHECK_FALSE(lies_in("/a", "/a/b"));
}
