#include <catch2/catch.hpp>
#include <cerrno>
#include <fstream>
#include <set>
#include <string>

#include "platform/disk.h"
#include "platform/file_status.h"
#include "platform/folder.h"
#include "platform/letters.h"
#include "platform/open_file.h"
#include "temporary_folder.h"

using namespace hearwood;
using hearwood::testing::TemporaryFolder;
namespace fs = std::filesystem;

namespace {

std::string content(const fs::path& path) {
    std::ifstream in(path);
    return {std::istreambuf_iterator<char>(in), {}};
}

}  // namespace

TEST_CASE("what lies under a name is told, a link apart from what it leads to") {
    const TemporaryFolder folder;
    folder.file("a", "12345");
    fs::create_symlink("a", folder.path() / "link");
    const auto file = status_of(folder.path() / "a", Links::follow);
    REQUIRE(file);
    CHECK(file->is_regular());
    CHECK(file->size == 5);
    CHECK(status_of(folder.path() / "link", Links::follow)->number == file->number);
    CHECK(status_of(folder.path() / "link", Links::look_at_link)->kind == FileKind::link);
    CHECK(status_of(folder.path(), Links::follow)->is_folder());
    int error = 0;
    CHECK_FALSE(status_of(folder.path() / "none", Links::follow, &error));
    CHECK(error == ENOENT);
}

TEST_CASE("each purpose of opening keeps what it promises of a file that is there or not") {
    const TemporaryFolder folder;
    const fs::path file = folder.path() / "a";
    CHECK(OpenFile(file, OpenFor::reading).error() == ENOENT);
    CHECK(OpenFile(file, OpenFor::changing).error() == ENOENT);
    CHECK(OpenFile(file, OpenFor::writing_new).write_all("abc", 3).bytes == 3);
    CHECK(OpenFile(file, OpenFor::writing_new).error() == EEXIST);
    CHECK(OpenFile(file, OpenFor::changing).write_all("X", 1).error == 0);
    CHECK(content(file) == "Xbc");
    CHECK(OpenFile(file, OpenFor::locking).empty() == 0);
    CHECK(content(file).empty());
    folder.file("a", "old");
    CHECK(OpenFile(file, OpenFor::writing_anew).is_open());
    CHECK(content(file).empty());
    fs::create_symlink("a", folder.path() / "link");
    CHECK(OpenFile(folder.path() / "link", OpenFor::reading, {.follow_link = false}).error() ==
          ELOOP);
    CHECK(OpenFile(folder.path() / "link", OpenFor::reading).is_open());
}

TEST_CASE("bytes are read and written at their place; the end of a file is no error") {
    const TemporaryFolder folder;
    const OpenFile out(folder.path() / "a", OpenFor::writing_new);
    REQUIRE(out.write_all("0123456789", 10).bytes == 10);
    REQUIRE(out.write_all_at(4, "xy", 2).bytes == 2);
    CHECK(out.sync() == 0);
    char bytes[16] = {};
    const OpenFile in(folder.path() / "a", OpenFor::reading,
                      {.without_trace = true, .never_wait = true});
    const Transfer some = in.read_at(3, bytes, sizeof bytes);
    CHECK(std::string(bytes, some.bytes) == "3xy6789");
    CHECK(in.read_at(10, bytes, 1).bytes == 0);
    CHECK(in.read_at(10, bytes, 1).error == 0);
    CHECK(in.write_all("no", 2).error == EBADF);
    CHECK(OpenFile(folder.path(), OpenFor::reading).read(bytes, 1).error == EISDIR);
}

TEST_CASE("the time of last change can be set, before 1970 too") {
    const TemporaryFolder folder;
    const OpenFile file(folder.path() / "a", OpenFor::writing_new);
    for (const std::int64_t time : {1'935'000'000'123'456'789, std::int64_t{-1'500'000'000}}) {
        file.set_modified(time);
        CHECK(file.status()->modified_ns == time);
    }
}

TEST_CASE("a file is renamed over another only when that is wished") {
    const TemporaryFolder folder;
    folder.file("a", "a");
    folder.file("b", "b");
    CHECK(error_of_rename_to_new(folder.path() / "a", folder.path() / "b") == EEXIST);
    CHECK(content(folder.path() / "b") == "b");
    CHECK(error_of_rename_to_new(folder.path() / "a", folder.path() / "c") == 0);
    CHECK(error_of_rename(folder.path() / "c", folder.path() / "b") == 0);
    CHECK(content(folder.path() / "b") == "a");
    CHECK(error_of_rename(folder.path() / "c", folder.path() / "b") == ENOENT);
    CHECK(error_of_making_folder(folder.path() / "b") == EEXIST);
}

TEST_CASE("one open file has the lock; it goes with the file") {
    const TemporaryFolder folder;
    int error = 0;
    {
        const OpenFile first(folder.path() / "lock", OpenFor::locking);
        CHECK(first.try_to_lock(error));
        const OpenFile second(folder.path() / "lock", OpenFor::locking);
        CHECK_FALSE(second.try_to_lock(error));
        CHECK(error == 0);
    }
    CHECK(OpenFile(folder.path() / "lock", OpenFor::locking).try_to_lock(error));
}

TEST_CASE("a folder lists its names and leads below itself, never through a link") {
    const TemporaryFolder folder;
    folder.file("a", "text");
    fs::create_directory(folder.path() / "below");
    fs::create_symlink("below", folder.path() / "link");
    Folder open(folder.path());
    std::set<std::string> names;
    while (const auto entry = open.next()) names.insert(entry->name);
    CHECK(open.error() == 0);
    CHECK(names == std::set<std::string>{"a", "below", "link"});
    CHECK(open.subfolder("below").is_open());
    CHECK(open.subfolder("link").error() == ENOTDIR);
    CHECK(open.subfolder("a").error() == ENOTDIR);
    char bytes[4];
    CHECK(open.open_file("a", OpenFor::reading, {}).read(bytes, 4).bytes == 4);
    CHECK(Folder(folder.path() / "none").error() == ENOENT);
    CHECK(Folder(folder.path() / "a").error() == ENOTDIR);
}

TEST_CASE("a disk has a device, a kind and room") {
    const TemporaryFolder folder;
    const MountedDisk disk = mounted_disk(fs::canonical(folder.path()));
    CHECK_FALSE(disk.devices.empty());
    int error = 0;
    CHECK(free_bytes_at(folder.path(), error).value_or(0) > 0);
    CHECK_FALSE(free_bytes_at(folder.path() / "none", error));
    CHECK(error == ENOENT);
    CHECK(mounted_disk(folder.path() / "none").devices.empty());
}

TEST_CASE("small letters, whatever the locale; what is no text stays") {
    CHECK(small_letters("REC_Ä.WAV") == "rec_ä.wav");
    CHECK(small_letters("\xff"
                        "A") ==
          "\xff"
          "a");
}
