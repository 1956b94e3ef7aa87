#include "card/checksums.h"

#include <catch2/catch.hpp>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <string>

#include "base/file.h"
#include "temporary_folder.h"

using namespace hearwood;
using hearwood::testing::TemporaryFolder;
namespace fs = std::filesystem;

namespace {

const std::string kHash(64, 'a'), kOther(64, 'b');

}  // namespace

TEST_CASE("names are written as GNU sha256sum writes them") {
    CHECK(checksum_line("a b.wav", kHash) == kHash + "  a b.wav");
    CHECK(checksum_line("a\nb", kHash) == "\\" + kHash + "  a\\nb");
    CHECK(checksum_line("a\\b", kHash) == "\\" + kHash + "  a\\\\b");
    CHECK(checksum_line("a\rb", kHash) == "\\" + kHash + "  a\\rb");
}

TEST_CASE("sha256sum itself accepts the file, whatever the names") {
    const TemporaryFolder folder;
    Checksums sums;
    const std::string empty =
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";  // FIPS 180-4: ""
    for (const char* name :
         {"a b", "a\nb", "a\\b", "a\rb", "\xFF\xFE", "-x", " lead", "*star", "q\"'q"}) {
        write_whole_file(folder.path() / name, "");
        sums.set(name, empty);
    }
    write_whole_file(folder.path() / Checksums::kFileName, sums.text());
    const std::string command = "cd '" + folder.path().string() +
                                "' && sha256sum -c --quiet --strict SHA256SUMS >/dev/null";
    CHECK(std::system(command.c_str()) == 0);
    const Checksums back = Checksums::load(folder.path() / Checksums::kFileName);
    CHECK(back.text() == sums.text());
}

TEST_CASE("lines that are none are passed over, a torn last one too") {
    const TemporaryFolder folder;
    const fs::path file = folder.path() / "sums";
    write_whole_file(file, kHash + "  a\nnonsense\n" + kHash + " *b\n\n" + kOther.substr(1) +
                               "  c\n\\" + kHash + "  d\\x\n" + kHash + "  torn");
    const Checksums sums = Checksums::load(file);
    CHECK(sums.text() == kHash + "  a\n" + kHash + "  b\n");
    CHECK(sums.find("torn").empty());
    CHECK(Checksums::load(folder.path() / "none").text().empty());
}

TEST_CASE("a hash finds its names, and forgets those that changed") {
    Checksums sums;
    sums.set("b", kHash);
    sums.set("a", kHash);
    CHECK(sums.names_with(kHash) == std::vector<std::string>{"a", "b"});
    sums.set("a", kOther);
    CHECK(sums.names_with(kHash) == std::vector<std::string>{"b"});
    CHECK(sums.names_with(kOther) == std::vector<std::string>{"a"});
}
