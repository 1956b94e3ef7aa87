// What proofs rest on in small: names that are one to some disks, sums and dates beside the copies,
// which disk is which.
#include <catch2/catch.hpp>

#include "card/checksums.h"
#include "card/copy_target.h"
#include "card/disk.h"
#include "card/file_copier.h"
#include "card/proof_dates.h"
#include "card/verify_copies.h"
#include "temporary_folder.h"

using namespace hearwood;
using testing::TemporaryFolder;

TEST_CASE("names that a disk may take for one have one key") {
    CHECK(folded_name("DCIM/A.WAV") == folded_name("dcim/a.wav"));
    CHECK(folded_name("\xC3\x89t\xC3\xA9.wav") == folded_name("\xC3\xA9T\xC3\x89.WAV"));  // Été
    CHECK(folded_name("a.wav.") == folded_name("a.wav"));  // FAT drops dots at the end
    CHECK(folded_name("a.wav") != folded_name("b.wav"));
    CHECK(folded_name("\xFF.wav") != folded_name("\xFE.wav"));  // no UTF-8: bytes
    CHECK(is_reserved("sha256sums"));
    CHECK(is_reserved("PROVED.TXT"));
    CHECK_FALSE(is_reserved("sub/SHA256SUMS"));
}

TEST_CASE("dates of proof come back from their file, whatever the name") {
    const TemporaryFolder folder;
    ProofDates dates;
    const std::string now = ProofDates::now();
    CHECK(now.size() == 20);
    dates.set("a.wav", now);
    dates.set("line\nbreak\\.wav", "2026-10-15T03:22:10Z");
    dates.set("zeros.wav", ProofDates::kSalvaged);
    folder.file(ProofDates::kFileName, dates.text() + "no line of ours\nhalf a li");
    const ProofDates back = ProofDates::load(folder.path());
    CHECK(back.find("a.wav") == now);
    CHECK(back.find("line\nbreak\\.wav") == "2026-10-15T03:22:10Z");
    CHECK(back.find("zeros.wav") == ProofDates::kSalvaged);
    CHECK(back.find("never.wav").empty());
    CHECK(back.text() == dates.text());
}

TEST_CASE("what is wrong with a list of sums is told") {
    const TemporaryFolder folder;
    Checksums sums;
    sums.set("a.wav", std::string(64, 'a'));
    sums.set("b.wav", std::string(64, 'b'));
    sums.save(folder.path());
    const auto file = folder.path() / Checksums::kFileName;
    CHECK(Checksums::load(file).troubles().empty());
    folder.file(Checksums::kFileName, "what is this\n" + sums.text());
    const Checksums spoilt = Checksums::load(file);
    REQUIRE(spoilt.troubles().size() == 2);
    CHECK(spoilt.troubles()[0] == "line 1 is no \"SHA-256  NAME\"");
    CHECK(spoilt.find("b.wav") == std::string(64, 'b'));
    CHECK(stays_inside("sub/a.wav"));
    CHECK_FALSE(stays_inside("../a.wav"));
    CHECK_FALSE(stays_inside("sub/../../a.wav"));
    CHECK_FALSE(stays_inside("/a.wav"));
}

TEST_CASE(
    "an image is the disk of its file when copies are counted, and a disk that can be swapped") {
    Disk built_in, image, another;
    built_in.devices = built_in.own_devices = built_in.all_devices = {"sda"};
    for (Disk* each : {&image, &another}) each->devices = {"sda"};
    image.own_devices = {"loop0"};
    image.all_devices = {"loop0", "sda"};
    another.own_devices = {"loop1"};
    another.all_devices = {"loop1", "sda"};
    const std::vector<Disk> all{built_in, image, another};
    CHECK(count_disks(all) == 1);
    CHECK(share_a_device(image, another));
    CHECK(is_the_disk(image, image));
    CHECK_FALSE(is_the_disk(image, another));
    CHECK_FALSE(is_the_disk(built_in, image));
    CHECK(lies_on_device_of(image, image));
    CHECK_FALSE(lies_on_device_of(another, image));
    CHECK(lies_on_device_of(image, built_in));        // an image in a file of the card
    CHECK_FALSE(lies_on_device_of(built_in, image));  // the card an image on the disk: as in a test
}

TEST_CASE("two disks are two when they share no device") {
    Disk one, other, volume;
    one.devices = {"sda"};
    other.devices = {"sdb"};
    volume.devices = {"sdb", "sdc"};
    CHECK_FALSE(share_a_device(one, other));
    CHECK(share_a_device(other, volume));
    const std::vector<Disk> all{one, other, volume};
    CHECK(count_disks(all) == 2);
    CHECK(count_disks({}) == 0);
    const TemporaryFolder folder;
    const Disk here = disk_of(folder.path()),
               below = disk_of(folder.path() / "not" / "there" / "yet");
    CHECK(here.devices == below.devices);
    CHECK_FALSE(here.devices.empty());
    CHECK(nearest_existing("surely-not-there/below") == ".");
}
