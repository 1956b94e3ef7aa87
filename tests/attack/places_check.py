#!/usr/bin/python3
"""Copies that are no copies of their own: links to the card, folders that are mounted twice, disks that are taken out under
way, disks with rules for names. Wherever the box says that the card may be wiped, all of it must be in a file that goes
neither with the card nor with the other copy."""
import contextlib
import ctypes
import os
import shutil
import signal
import subprocess
import time

import disks
from trust_support import BINARY, TrustTest, main, sums

MNT_DETACH = 2


@contextlib.contextmanager
def bound(folder, at):
    """The same folder at a second place."""
    at.mkdir(parents=True, exist_ok=True)
    subprocess.run(["mount", "--bind", folder, at], check=True)
    try:
        yield at
    finally:
        disks.take_away(at)


def copy_card(card, at):
    return shutil.copytree(card, at, copy_function=shutil.copy2)


class Mounts(TrustTest):
    def test_the_card_mounted_as_the_folder_of_its_copies(self):
        before = sums(self.card)
        for within in ("", "DATA0"):
            with bound(self.card / within, self.copies()):
                told = self.offload()
                self.assertEqual(told.code, 2, told)
                self.assertIn("lie inside each other", told.err)
        self.assertEqual(sums(self.card), before)

    def test_a_folder_of_the_card_mounted_among_its_copies(self):
        before = sums(self.card)
        with bound(self.card / "DATA0", self.copies() / "DATA0"):
            told = self.offload()
        self.assertEqual(sums(self.card), before, "written to the card")
        self.assert_may_be_wiped(told)  # with what is there when the mount is gone

    def test_copies_on_the_card_itself(self):
        disk = self.folder / "disk"
        with disks.real_disk(self.folder / "image", disk, 32, "ext4"):
            copy_card(self.card, disk / "DCIM")
            copy_card(self.survey, disk / "survey")
            told = self.offload(card=disk / "DCIM", survey=disk / "survey")
            self.assert_not_to_be_wiped(told, "is on the card's own disk")
            told = self.offload("--second", disk / "second", card=disk / "DCIM")
            self.assert_not_to_be_wiped(told, "is on the card's own disk")
            with bound(disk, self.folder / "again"):  # the card is mounted twice
                told = self.offload("--second", self.folder / "again/backup", card=disk)
                self.assertEqual(told.code, 2, told)
                told = self.offload("--second", self.folder / "again/backup", card=disk / "DCIM")
                self.assert_not_to_be_wiped(told, "is on the card's own disk")

    def test_a_second_disk_that_is_the_survey(self):
        self.offload()
        before = sums(self.copies())
        (self.folder / "link").symlink_to(self.survey)
        with bound(self.survey, self.folder / "bound"):
            for second in (self.survey, self.folder / "link", self.folder / "bound", self.copies()):
                told = self.offload("--second", second)
                self.assertEqual(told.code, 2, told)
                self.assertIn("--second leads to", told.err)
        self.assertEqual(sums(self.copies()), before)

    def test_a_folder_of_the_survey_mounted_on_the_second_disk(self):
        disk = self.folder / "disk"
        with disks.memory(self.folder / "memory") as memory, disks.real_disk(memory / "image", disk, 32, "ext4"):
            self.offload()
            with bound(self.copies() / "DATA0", self.copies(disk) / "DATA0"):
                told = self.offload("--second", disk, one=False)
            self.assert_not_to_be_wiped(told, "lies on another disk than when the run began")
            told = self.offload("--second", disk, one=False)
            self.assert_may_be_wiped(told, self.copies(), self.copies(disk))

    def test_a_second_disk_in_memory_is_called_so(self):
        disk = self.folder / "disk"
        disk.mkdir()
        subprocess.run(["mount", "-t", "tmpfs", "tmpfs", disk], check=True)
        try:
            told = self.offload("--second", disk)
            self.assertIn(f"gone when it is switched off: {self.copies(disk)}", told.flat)
        finally:
            disks.take_away(disk)


class PartOfACard(TrustTest):
    def test_one_folder_is_not_the_card(self):
        disk = self.folder / "disk"
        with disks.real_disk(self.folder / "image", disk, 32, "ext4"):
            copy_card(self.card, disk / "DCIM")
            (disk / "DCIM/DATA1").mkdir()
            for path in self.recordings(disk)[8:]:
                path.rename(disk / "DCIM/DATA1" / path.name)
            shutil.copy(self.card / "settings.txt", disk)
            told = self.offload(card=disk / "DCIM/DATA0")
            self.assertEqual(told.code, 1, told)
            others = [path for path in self.recordings(disk) if "DATA0" not in str(path)]
            self.assertTrue(others)
            self.assert_not_to_be_wiped(told, "outside of the folder that was given", str(others[0]))
            for card in (disk, disk / "DCIM"):  # outside of DCIM is no recording
                self.assert_may_be_wiped(self.offload(card=card))


class Links(TrustTest):
    def test_links_to_the_card_are_no_copies(self):
        for path in self.card.rglob("*"):
            at = self.copies() / path.relative_to(self.card)
            if path.is_file():
                at.parent.mkdir(parents=True, exist_ok=True)
                os.link(path, at)
        told = self.offload()
        # What wipes a file in place takes its links with it.
        linked = {path.stat().st_ino for path in self.card.rglob("*")}
        for path in self.copies().rglob("*"):
            if path.stat().st_ino in linked and path.is_file():
                path.unlink()
        self.assertTrue(told.wipe, told)
        self.assert_nothing_lost(self.copies())

    def test_a_second_copy_that_is_a_link_to_the_first(self):
        second = self.folder / "second"
        self.offload()
        second.mkdir(exist_ok=True)
        subprocess.run(["cp", "-al", self.survey / "recordings", second], check=True)
        told = self.offload("--second", second)
        self.assert_not_to_be_wiped(told, "is the same file as", "no second copy")
        told = self.offload("--second", second, "--repair")
        self.assert_may_be_wiped(told, self.copies(), self.copies(second))
        for path in self.recordings(self.copies()):
            self.assertNotEqual(path.stat().st_ino, (self.copies(second) / path.relative_to(self.copies())).stat().st_ino)

    def test_a_line_of_SHA256SUMS_that_is_wrong_costs_no_other_recording(self):
        """The sum of a new recording stands at the name of an old one of the same size and time."""
        old, new = self.recordings()[:2]
        os.utime(new, ns=(old.stat().st_atime_ns, old.stat().st_mtime_ns))
        value = sums(self.card)[str(new.relative_to(self.card))]
        aside = self.folder / new.name
        new.rename(aside)
        self.offload()
        sheet = self.copies() / "SHA256SUMS"
        name = str(old.relative_to(self.card))
        kept = old.read_bytes()
        sheet.write_text("".join(f"{value}  {name}\n" if line.endswith("  " + name + "\n") else line
                                 for line in sheet.read_text().splitlines(keepends=True)))
        old.unlink()  # another card by now
        aside.rename(new)
        told = self.offload("--repair")
        self.assertEqual((self.copies() / name).read_bytes(), kept, "the only copy of another recording was overwritten")
        self.assert_may_be_wiped(told)


class UnderWay(TrustTest):
    def test_a_second_disk_that_is_taken_out_while_all_is_read_back(self):
        """Below its folder lie the copies of an earlier run, when the disk was not mounted."""
        disk, below = self.folder / "disk", self.folder / "below"
        self.offload("--second", disk)
        below.mkdir()

        class TakenOut(disks.Mirror):
            left = 6

            def open(self, path, flags):
                self.left -= path.endswith(".wav")  # until it has its name a copy is called otherwise
                if self.left == 0:
                    ctypes.CDLL(None).umount2(os.fsencode(disk), MNT_DETACH)
                return super().open(path, flags)

        with disks.served(TakenOut(below), disk, nonempty=True):
            told = self.offload("--second", disk, one=False)
        self.assertFalse(os.path.ismount(disk))
        self.assert_not_to_be_wiped(told, "lies on another disk than when the run began")

    def test_a_killed_run_leaves_no_verdict_of_an_earlier_one(self):
        self.assert_may_be_wiped(self.offload())
        report, seen, reached = self.copies() / "OFFLOAD.txt", self.folder / "seen", self.folder / "reached"
        self.assertIn("MAY BE WIPED", report.read_text())

        def hold():
            reached.touch()
            time.sleep(2)

        with disks.served(disks.WhileRead(self.card, 10_000, hold), seen):
            running = subprocess.Popen([BINARY, "offload", seen, self.survey, "--deployment", "H1-march", "--quiet",
                                        "--one-copy"], stdout=subprocess.DEVNULL)
            while not reached.exists():
                time.sleep(0.02)
            running.send_signal(signal.SIGKILL)
            running.wait()
        self.assertNotIn("MAY BE WIPED", report.read_text())
        self.assertIn("DO NOT WIPE", report.read_text())
        self.assert_may_be_wiped(self.offload())
        self.assertIn("MAY BE WIPED", report.read_text())

    def test_a_wrong_card_leaves_the_verdict_of_the_right_one(self):
        other = copy_card(self.card, self.folder / "other")
        for path in self.recordings(other):
            path.write_bytes(path.read_bytes()[:-2] + b"zz")
            path.rename(path.with_name(path.name.replace("LT04", "LT05")))
        told = self.run_program("offload", other, self.survey, "--deployment", "H2-march", "--one-copy", "--quiet")
        self.assertTrue(told.wipe, told)
        report = self.copies().with_name("H2-march") / "OFFLOAD.txt"
        before = report.read_bytes()
        self.offload()
        same = copy_card(self.card, self.folder / "same")
        for path in self.recordings(same):  # only the content tells
            path.rename(path.with_name(path.name.replace("LT04", "LT05")))
        told = self.run_program("offload", same, self.survey, "--deployment", "H2-march", "--one-copy", "--quiet")
        self.assertEqual(told.code, 2, told)
        self.assertEqual(report.read_bytes(), before)


class NamesOfDisks(TrustTest):
    def assert_only_named(self, told, disk, *refused):
        self.assertEqual(told.code, 1, told)
        self.assert_not_to_be_wiped(told, f"{13} OF {13 + len(refused)} FILES ARE PROVED",
                                    "takes no such name", *refused)
        self.assert_nothing_lost(self.copies())  # the other disk takes them

    def test_names_that_a_disk_does_not_take(self):
        disk, below = self.folder / "disk", self.folder / "below"
        below.mkdir()
        source = self.recordings()[0]
        names = ("LT04_2026-03-20_01:00:00.wav", "a?b/LT04_20260320_020000.wav", "a?b/LT04_20260320_030000.wav")
        for number, name in enumerate(names):
            path = self.card / name
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(source.read_bytes()[:-2] + bytes([number, 1]))
        with disks.served(disks.NamesLikeFat(below), disk):
            told = self.offload("--second", disk, "--force")
            self.assert_only_named(told, disk, *names)
            told = self.offload("--second", disk, "--force")
            self.assert_only_named(told, disk, *names)

    def test_paths_that_are_too_long_on_one_disk(self):
        part = "p" * 200
        deep = self.card
        while len(str(deep)) + 250 < 4000:
            deep /= part
        deep.mkdir(parents=True)
        shutil.copy(self.recordings()[0], self.folder / "short.wav")
        with open(self.folder / "short.wav", "r+b") as file:
            file.seek(-2, 2)
            file.write(b"zz")
        shutil.copy(self.folder / "short.wav", deep / "LT04_20260320_010000.wav")
        second = self.folder / ("second" + "s" * 200)
        told = self.offload("--second", second, "--force")
        self.assert_only_named(told, second, "LT04_20260320_010000.wav")


if __name__ == "__main__":
    disks.require()
    main()
