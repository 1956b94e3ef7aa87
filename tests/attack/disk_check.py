#!/usr/bin/python3
"""Cards and disks that lie, forget, change or die, each made for the test: may the card be wiped?"""
import os
import shutil
import subprocess
import time
import unittest

import disks
from trust_support import TrustTest, lost, main


class Disks(TrustTest):
    def colliding_card(self):
        """Five contents under names that are two to a case-blind disk."""
        card = self.folder / "colliding"
        names = ("a.wav", "A.wav", "A.WAV", "DCIM/b.wav", "dcim/b.wav")
        for name, source in zip(names, self.recordings()):
            (card / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(source, card / name)
        return card

    def test_names_that_are_one_to_the_disk(self):
        card = self.colliding_card()
        for where in ("second", "survey"):
            below, disk = self.folder / f"below-{where}", self.folder / f"disk-{where}"
            below.mkdir()
            with disks.served(disks.CaseBlind(below), disk):
                if where == "second":
                    told = self.offload("--force", "--second", disk, card=card)
                    folders = [self.copies(), self.copies(below)]
                else:
                    shutil.copytree(self.survey, disk / "survey", ignore=shutil.ignore_patterns("recordings", "hearwood"))
                    told = self.offload("--force", card=card, survey=disk / "survey")
                    folders = [self.copies(below / "survey")]
                self.assertTrue(told.wipe, told)
                for folder in folders:
                    self.assert_nothing_lost(folder, card=card)
                again = self.offload("--force", *(["--second", disk] if where == "second" else []), card=card,
                                     survey=self.survey if where == "second" else disk / "survey")
                self.assertTrue(again.wipe, again)
                self.assertIn("copied now and read back equal: 0", again.out)

    def test_a_name_taken_behind_our_back_is_refused_with_both(self):
        """The first copies wait under temporary names; meanwhile another file takes the name of one."""
        below, disk = self.folder / "below", self.folder / "disk"
        below.mkdir()

        class Taken(disks.CaseBlind):
            def create(self, path, mode, info=None):
                if path.endswith("/5.part"):
                    folder = below / "recordings/H1-march/DATA0"
                    folder.mkdir(parents=True, exist_ok=True)
                    (folder / names[5].upper()).write_text("another")
                return super().create(path, mode, info)

        names = [path.name for path in self.recordings()]
        with disks.served(Taken(below), disk, attr_timeout=0, entry_timeout=0, negative_timeout=0):
            told = self.offload("--second", disk)
        self.assert_not_to_be_wiped(told, names[5], names[5].upper())
        self.assertEqual(told.code, 1)
        self.assertEqual((below / "recordings/H1-march/DATA0" / names[5].upper()).read_text(), "another")

    def test_a_disk_of_false_capacity(self):
        size = sum(path.stat().st_size for path in self.card.rglob("*") if path.is_file())
        for part in (0.3, 0.5, 0.9, 0.999, 1.0, 1.02, 1.1, 3):
            shutil.rmtree(self.survey / "recordings", ignore_errors=True)
            below, disk = self.folder / f"below-{part}", self.folder / f"disk-{part}"
            below.mkdir()
            with disks.served(disks.TooLargeOnTheLabel(below, int(part * size)), disk):
                told = self.offload("--second", disk)
                gone = lost(self.card, self.copies(disk))
            self.assertFalse(told.wipe and gone, f"{part}: {gone}\n{told}")
            if part < 0.999:
                self.assert_not_to_be_wiped(told, str(disk))
                self.assertRegex(told.out, "reads back (from the disk )?differently")
            if part == 3:
                self.assertTrue(told.wipe, told)

    def test_a_disk_that_keeps_to_itself_what_it_holds(self):
        below, disk = self.folder / "below", self.folder / "disk"
        below.mkdir()
        with disks.served(disks.Mirror(below), disk):
            told = self.offload("--second", disk, one=False)
        self.assertTrue(told.wipe, told)  # two disks
        self.assertIn("on 2 disks were read back", told.out)
        self.assertIn(f"not known whether this disk was read past memory: {self.copies(disk)}", told.out)

    def test_disks_of_the_kernel_are_read_past_memory(self):
        for kind in ("ext4", "vfat"):
            disk = self.folder / kind
            with self.subTest(kind), disks.memory(self.folder / "memory") as memory, \
                    disks.real_disk(memory / "image", disk, 32, kind):
                told = self.offload("--second", disk, one=False)
                self.assertTrue(told.wipe, told)
                self.assertNotIn(f"read past memory: {disk}", told.out)
                self.assertIn(f", {kind})", told.out)

    def test_a_file_of_four_gigabytes_for_fat(self):
        disk = self.folder / "fat"
        large = self.card / "LT04_20260320_000000.wav"
        with open(large, "wb") as file:
            file.truncate(1 << 32)  # no room is taken on the card, and none is asked for on the disk
        os.truncate(large, 1 << 32)
        with disks.real_disk(self.folder / "image", disk, 32, "vfat"):
            card = self.folder / "card"
            card.mkdir()
            for path in self.recordings()[:3]:
                shutil.copy(path, card)
            large.rename(card / large.name)
            subprocess.run(["cp", "-r", self.survey, disk / "survey"], check=True)
            told = self.offload("--force", card=card, survey=disk / "survey")
            self.assertEqual(told.code, 1, told)
            self.assert_not_to_be_wiped(told, "3 OF 4 FILES ARE PROVED", large.name, "4 GiB")

    def test_a_disk_that_takes_no_large_files(self):
        below, disk = self.folder / "below", self.folder / "disk"
        below.mkdir()
        large = self.card / "LT04_20260320_000000.wav"
        large.write_bytes(self.recordings()[0].read_bytes() + os.urandom(3_000_000))
        with disks.served(disks.SmallFilesOnly(below, 1_000_000), disk):
            told = self.offload("--force", "--second", disk)
            self.assertEqual(told.code, 1, told)
            self.assert_not_to_be_wiped(told, "13 OF 14 FILES ARE PROVED", large.name, str(disk))
            self.assert_nothing_lost(self.copies())  # the other disk has it
            self.assertEqual(lost(self.card, self.copies(below)), [large.name])

    def test_a_card_that_changes_while_it_is_copied(self):
        first = self.recordings()[0]

        def change():
            target = self.card / "DATA0"
            shutil.copy(first, target / "LT04_20260316_000000.wav")
            (self.card / "NEW").mkdir()
            shutil.copy(first, self.card / "NEW" / "LT04_20260317_000000.wav")
            with open(first, "r+b") as file:
                file.seek(5000)
                file.write(b"!!!!")
            self.recordings()[-3].unlink()

        seen = self.folder / "seen"
        half = sum(path.stat().st_size for path in self.recordings()) // 2
        victims = self.recordings()
        with disks.served(disks.WhileRead(self.card, half, change), seen, attr_timeout=0, entry_timeout=0,
                          negative_timeout=0):
            told = self.offload(card=seen)
        self.assertEqual(told.code, 1, told)
        self.assert_not_to_be_wiped(told, "the card changed while it was copied",
                                    "LT04_20260316_000000.wav: is new", "NEW/LT04_20260317_000000.wav: is new",
                                    f"{first.name}: was changed", "is no longer there")
        self.assertTrue(victims)

    def test_a_card_that_dies(self):
        seen = self.folder / "seen"
        with disks.served(disks.DiesAfter(self.card, 7), seen, attr_timeout=60):
            told = self.offload(card=seen)
        self.assertEqual(told.code, 3, told)
        self.assert_not_to_be_wiped(told, "gives nothing any more")
        self.assertEqual(told.all.count("gives nothing any more"), 1, told)
        self.assertNotIn("NOT PROVED", told.out)
        # How many were through by then hangs on how the system groups its reads; never all of them.
        self.assertLess(told.proved, len(self.recordings()))

    def test_little_room_is_no_signal_and_heals(self):
        """8 and 40 kB left where the database is to be made; then there is room again."""
        for left in (8, 40, 200):
            disk, image = self.folder / f"small{left}", self.folder / f"image{left}"
            with disks.real_disk(image, disk, 8, "ext4", "-q", "-m", "0", "-O", "^has_journal"):
                survey = disk / "survey"
                shutil.copytree(self.survey, survey)
                copies = survey / "recordings" / "H1-march"
                copies.mkdir(parents=True)
                for path in self.recordings()[:4]:
                    shutil.copy(path, copies)
                room = os.statvfs(disk)
                filler = disk / "filler"
                with open(filler, "wb") as file:
                    file.write(bytes(max(0, room.f_bavail * room.f_frsize - left * 1024)))
                    try:
                        file.flush()
                        os.fsync(file.fileno())
                    except OSError:
                        pass
                for command in (["measure"], ["run"]):
                    told = self.run_program(*command, survey, "--quiet")
                    self.assertIn(told.code, (0, 1, 3), told)
                    if told.code == 3:
                        # Deployments that have no folder yet are told besides.
                        lines = [line for line in told.err.strip().splitlines() if "no such folder" not in line]
                        self.assertEqual(len(lines), 1, told)
                filler.unlink()
                told = self.run_program("run", survey, "--quiet")
                self.assertIn(told.code, (0, 1), told)


if __name__ == "__main__":
    disks.require()
    main()
