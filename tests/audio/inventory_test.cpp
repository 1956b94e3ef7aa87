#include "audio/inventory.h"

#include <sys/stat.h>

#include <catch2/catch.hpp>
#include <fstream>

#include "base/error.h"
#include "wave_bytes.h"

using namespace hearwood;
using namespace hearwood::test;

namespace {

std::string listed(const Inventory& inventory) {
    std::string text;
    for (const FoundFile& file : inventory.recordings)
        text += file.path + " " + std::to_string(file.size) + "\n";
    for (const FoundFile& file : inventory.others) text += "other " + file.path + "\n";
    for (const LeftOut& thing : inventory.left_out)
        text += (thing.matters ? "not " : "(not) ") + thing.path + ": " + thing.reason + "\n";
    return text;
}

}  // namespace

TEST_CASE("recordings are listed in the order of their bytes, at any depth") {
    const TemporaryFolder folder;
    for (const char* name :
         {"b.wav", "a/z.FLAC", "a/notes.txt", "B.WAV", "a-b.wav", "wav", "x.wavx", "\xFF.Ogg"})
        folder.file(name, "12345");
    folder.file(".hidden.wav", "x");
    folder.file(".Trash/c.wav", "x");
    CHECK(listed(list_recordings(folder.path())) ==
          "B.WAV 5\na-b.wav 5\na/z.FLAC 5\nb.wav 5\n\xFF.Ogg 5\n"
          "other a/notes.txt\nother wav\nother x.wavx\n");
    CHECK(list_recordings(folder.path()).recordings[0].modified_ns > 1'600'000'000'000'000'000);
}

TEST_CASE("links, pipes and folders in disguise are told, and nothing is read twice") {
    const TemporaryFolder folder;
    folder.file("real/a.wav", "x");
    folder.file("folder.wav/b.wav", "x");
    std::filesystem::create_symlink("real/a.wav", folder.path() / "link.wav");
    std::filesystem::create_symlink("..", folder.path() / "real/up");
    std::filesystem::create_symlink("/etc", folder.path() / "etc");
    std::filesystem::create_symlink("nowhere", folder.path() / "dangling");
    REQUIRE(::mkfifo((folder.path() / "pipe.wav").c_str(), 0600) == 0);
    CHECK(listed(list_recordings(folder.path())) ==
          "folder.wav/b.wav 1\nreal/a.wav 1\n"
          "(not) dangling: a symbolic link; links are not followed\n"
          "not etc: a symbolic link; links are not followed\n"
          "not folder.wav: a folder that is named like a recording\n"
          "not link.wav: a symbolic link; links are not followed\n"
          "not pipe.wav: a device, pipe or socket\n"
          "not real/up: a symbolic link; links are not followed\n");
}

TEST_CASE("the folder itself may be a link") {
    const TemporaryFolder folder;
    folder.file("real/a.wav", "x");
    std::filesystem::create_symlink("real", folder.path() / "link");
    CHECK(list_recordings(folder.path() / "link").recordings.size() == 1);
}

TEST_CASE("folders in folders end somewhere") {
    const TemporaryFolder folder;
    std::filesystem::path deep = folder.path();
    for (int i = 0; i < 100; ++i) deep /= "d";
    std::filesystem::create_directories(deep);
    const Inventory inventory = list_recordings(folder.path());
    REQUIRE(inventory.left_out.size() == 1);
    CHECK(inventory.left_out[0].reason == "more than 64 folders inside each other");
}

TEST_CASE("a folder that is not there, or is none, is an error of the call") {
    const TemporaryFolder folder;
    CHECK_THROWS_AS(list_recordings(folder.path() / "none"), InputError);
    CHECK_THROWS_AS(list_recordings(folder.file("a.wav", "x")), InputError);
}
