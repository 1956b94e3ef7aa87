#include "base/file.h"

#include <catch2/catch.hpp>
#include <filesystem>
#include <string>

#include "base/error.h"
#include "base/sha256.h"
#include "temporary_folder.h"

using namespace hearwood;
using hearwood::testing::TemporaryFolder;
namespace fs = std::filesystem;

TEST_CASE("a file appears under its name only when it is whole") {
    const TemporaryFolder folder;
    const fs::path target = folder.path() / "table.csv";
    write_whole_file(target, "old");
    {
        AtomicFile file(target);
        file.write("new and unfinished");
    }
    CHECK(read_whole_file(target) == "old");
    AtomicFile file(target);
    file.write("new");
    CHECK(read_whole_file(target) == "old");
    file.commit();
    CHECK(read_whole_file(target) == "new");
    CHECK(std::distance(fs::directory_iterator(folder.path()), fs::directory_iterator{}) == 1);
}

TEST_CASE("many files may be synced together at the end") {
    const TemporaryFolder folder;
    write_whole_file(folder.path() / "a", "one", Sync::later);
    write_whole_file(folder.path() / "a", "two", Sync::later);
    sync_file_system(folder.path());
    CHECK(read_whole_file(folder.path() / "a") == "two");
    CHECK(std::distance(fs::directory_iterator(folder.path()), fs::directory_iterator{}) == 1);
    CHECK_THROWS_AS(sync_file_system(folder.path() / "none"), MachineError);
}

TEST_CASE("a planted link does not lead the writing elsewhere") {
    const TemporaryFolder folder;
    write_whole_file(folder.path() / "precious", "kept");
    fs::create_symlink(folder.path() / "precious", folder.path() / "table.csv.part");
    CHECK_THROWS_AS(AtomicFile(folder.path() / "table.csv"), MachineError);
    CHECK(read_whole_file(folder.path() / "precious") == "kept");
}

TEST_CASE("reading refuses what is missing, a folder, or too large") {
    const TemporaryFolder folder;
    CHECK_THROWS_AS(read_whole_file(folder.path() / "none"), InputError);
    CHECK_THROWS_AS(read_whole_file(folder.path()), InputError);
    write_whole_file(folder.path() / "ten", "0123456789");
    CHECK_THROWS_AS(read_whole_file(folder.path() / "ten", 9), InputError);
    CHECK(read_whole_file(folder.path() / "ten", 10).size() == 10);
}

// FIPS 180-4's example messages, digests as published by NIST (written down from memory).
TEST_CASE("SHA-256 gives the published digests") {
    CHECK(sha256_of("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(sha256_of("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    Sha256 hash;
    const std::string text = "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";
    for (const char c : text) hash.add(&c, 1);
    CHECK(hash.finish() == "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    const TemporaryFolder folder;
    write_whole_file(folder.path() / "f", text);
    CHECK(sha256_of_file(folder.path() / "f") == sha256_of(text));
}
