#include "survey/zone_data.h"

#include <date/tz.h>

#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <string>

#include "temporary_folder.h"

using namespace hearwood;
using hearwood::testing::TemporaryFolder;
using std::chrono::seconds;

namespace {

constexpr seconds kFrom{-2'208'988'800}, kTo{7'258'118'400};  // 1900 to 2200

std::string content(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

/// As the date library reads the same zone.
std::vector<OffsetChange> by_the_library(const date::time_zone& zone) {
    std::vector<OffsetChange> changes;
    for (date::sys_seconds time{kFrom}; time.time_since_epoch() < kTo;) {
        const date::sys_info info = zone.get_info(time);
        if (changes.empty() || changes.back().offset != info.offset)
            changes.push_back({time.time_since_epoch(), info.offset});
        if (info.end <= time) break;
        time = info.end;
    }
    return changes;
}

}  // namespace

TEST_CASE("every zone of the system reads as the date library reads it") {
    std::size_t zones = 0;
    for (const date::time_zone& zone : date::get_tzdb().zones) {
        const std::string bytes = content("/usr/share/zoneinfo/" + zone.name());
        const auto changes = read_zone_file(bytes, kFrom, kTo);
        if (!changes) continue;  // lists and the like
        CAPTURE(zone.name());
        CHECK(*changes == by_the_library(zone));
        ++zones;
    }
    CHECK(zones > 300);
}

TEST_CASE("a zone file that is cut or spoilt gives nothing, and reads nothing behind its end") {
    const std::string bytes = content("/usr/share/zoneinfo/Asia/Kuching");
    REQUIRE(read_zone_file(bytes, kFrom, kTo));
    const std::size_t footer = bytes.rfind('\n', bytes.size() - 2) + 1;
    for (std::size_t size = 0; size + 1 < footer; ++size) {
        // A copy of just these bytes, so that a sanitizer sees a read behind them.
        const std::string cut(bytes.data(), size);
        CHECK_FALSE(read_zone_file(cut, kFrom, kTo));
    }
    for (std::size_t at = 0; at < bytes.size(); ++at) {
        std::string spoilt = bytes;
        spoilt[at] = static_cast<char>(0xff);
        static_cast<void>(read_zone_file(spoilt, kFrom, kTo));
    }
    CHECK_FALSE(read_zone_file("TZif", kFrom, kTo));
    CHECK_FALSE(read_zone_file("", kFrom, kTo));
}

TEST_CASE("files of a tar archive, through its links") {
    const TemporaryFolder folder;
    folder.file("in/Asia/Kuching", "zone");
    folder.file("in/empty", "");
    std::filesystem::create_symlink("Kuching", folder.path() / "in/Asia/Other");
    std::filesystem::create_symlink("Asia/Other", folder.path() / "in/Old");
    std::filesystem::create_hard_link(folder.path() / "in/Asia/Kuching", folder.path() / "in/Zoo");
    std::filesystem::create_symlink("loop", folder.path() / "in/loop");
    const std::string command = "tar --format=ustar --sort=name -C '" + folder.path().string() +
                                "/in' -cf '" + folder.path().string() + "/a.tar' .";
    REQUIRE(std::system(command.c_str()) == 0);
    const std::string tar = content(folder.path() / "a.tar");
    for (const char* name : {"Asia/Kuching", "Asia/Other", "Old", "Zoo"})
        CHECK(file_in_tar(tar, name) == "zone");
    CHECK(file_in_tar(tar, "empty") == "");
    CHECK_FALSE(file_in_tar(tar, "loop"));
    CHECK_FALSE(file_in_tar(tar, "Asia"));
    CHECK_FALSE(file_in_tar(tar, "none"));
    CHECK(names_in_tar(tar).size() == 6);
    CHECK_FALSE(file_in_tar(tar.substr(0, 700), "Zoo"));
    CHECK_FALSE(file_in_tar("", "Zoo"));
}

TEST_CASE("a build without zone data of its own takes the system's") {
    if (built_in_zones().empty()) {
        CHECK_FALSE(built_in_zones_hold());
        CHECK(zone_data_version().find("built in") == std::string::npos);
    } else {
        CHECK(file_in_tar(built_in_zones(), "Asia/Kuching"));
    }
}
