#!/usr/bin/python3
"""Things that are exchanged, shared or lost under way: another card in the same place, links laid where copies were, images that are
no disks of their own, two programs on one disk, a kill while all is read back. What must be: see trust_support."""
import contextlib
import os
import shutil
import signal
import subprocess
import sys
import time
import unittest

import disks
from places_check import bound, copy_card
from trust_support import BINARY, TrustTest, flip_bit, lost, main, sums


class WhenMade(disks.Mirror):
    """A disk on which something happens when the first file whose name begins so is made."""

    def __init__(self, below, begins, happens):
        super().__init__(below)
        self.begins, self.happens = begins, happens

    def create(self, path, mode, info=None):
        if self.happens and os.path.basename(path).startswith(self.begins):
            happens, self.happens = self.happens, None
            happens()
        return super().create(path, mode)


class FullAfter(disks.Mirror):
    """Room for so many bytes, though it claims more: another program writes too."""

    def __init__(self, below, holds):
        super().__init__(below)
        self.left = holds

    def write(self, path, data, offset, handle):
        self.left -= len(data)
        if self.left < 0:
            raise disks.FuseOSError(disks.errno.ENOSPC)
        return super().write(path, data, offset, handle)


class Slow(disks.Mirror):
    """A card of which each read takes a while."""

    def read(self, path, size, offset, handle):
        time.sleep(0.05)
        return super().read(path, size, offset, handle)


class Cards(TrustTest):
    def other_card(self):
        """Names, sizes and times of a card whose recorder's clock was reset as this one's was; the sound is another."""
        other = copy_card(self.card, self.folder / "other")
        for path in self.recordings(other):
            status = path.stat()
            path.write_bytes(path.read_bytes()[:-4] + b"else")
            os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns))
        return other

    def exchanged(self, exchange):
        """Offloads a slow card and calls exchange() when some of it was read."""
        running = subprocess.Popen([BINARY, "offload", self.slot, self.survey, "--deployment", "H1-march", "--quiet",
                                    "--one-copy"], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        while not list((self.copies() / ".offload").glob("5.part")):
            time.sleep(0.01)
            self.assertIsNone(running.poll(), "too quick for this test")
        exchange()
        out = running.communicate(timeout=60)[0]
        return running.returncode, out

    def test_another_card_in_the_same_place(self):
        other, self.slot = self.other_card(), self.folder / "slot"
        with disks.served(Slow(self.card), self.slot):
            with contextlib.ExitStack() as stack:
                code, out = self.exchanged(lambda: stack.enter_context(bound(other, self.slot)))
        self.assertNotIn("MAY BE WIPED", out)
        self.assertEqual(code, 3, out)
        self.assertIn("another card", out)

    def test_two_cards_into_one_deployment_at_once(self):
        cards = [self.card, self.other_card()]
        running = [subprocess.Popen([BINARY, "offload", card, self.survey, "--deployment", "H1-march", "--quiet", "--one-copy"],
                                    stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) for card in cards]
        for one, card in zip(running, cards):
            out = one.communicate(timeout=120)[0]
            self.assertIn("MAY BE WIPED", out)
            self.assert_nothing_lost(self.copies(), card=card)

    def test_two_surveys_with_one_second_disk_at_once(self):
        second = self.folder / "second"
        cards = [self.card, self.other_card()]
        surveys = [self.survey, shutil.copytree(self.survey, self.folder / "survey2")]
        for _ in range(4):
            shutil.rmtree(second, ignore_errors=True)
            running = [subprocess.Popen([BINARY, "offload", card, survey, "--deployment", "H1-march", "--quiet", "--one-copy",
                                         "--second", second], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
                       for card, survey in zip(cards, surveys)]
            outs = [one.communicate(timeout=120)[0] for one in running]
            for card, out in zip(cards, outs):
                if "MAY BE WIPED" in out:
                    self.assert_nothing_lost(self.copies(second), card=card)
            # and then one after the other
            for card, survey in zip(cards, surveys):
                told = self.offload("--second", second, card=card, survey=survey)
                self.assertTrue(told.wipe, told)
                self.assert_nothing_lost(self.copies(second), card=card)
            for survey in surveys:
                shutil.rmtree(survey / "recordings", ignore_errors=True)
                shutil.rmtree(survey / "hearwood", ignore_errors=True)


class Copies(TrustTest):
    def test_links_to_the_card_laid_where_copies_were(self):
        below, disk = self.folder / "below", self.folder / "disk"
        below.mkdir()
        copies = self.copies() / "DATA0"

        def files():
            for path in self.recordings(copies):
                path.unlink()
                os.link(self.card / "DATA0" / path.name, path)

        def folder():
            shutil.rmtree(copies)
            copies.symlink_to(self.card / "DATA0")

        for lay in (files, folder):
            for place in (below, self.survey / "recordings", self.survey / "hearwood"):
                shutil.rmtree(place, ignore_errors=True)
            below.mkdir()
            with disks.served(WhenMade(below, "PROVED.txt", lay), disk):
                told = self.offload("--second", disk)
            self.assertTrue(copies.is_symlink() or self.recordings(copies)[0].stat().st_nlink == 2)
            self.assert_not_to_be_wiped(told, "is the card's own file")

    def test_a_second_disk_that_is_full_half_way(self):
        size = sum(path.stat().st_size for path in self.card.rglob("*") if path.is_file())
        for part in (0.3, 0.7, 0.99, 1.001, 1.01):
            shutil.rmtree(self.survey / "recordings", ignore_errors=True)
            below, disk = self.folder / f"below-{part}", self.folder / f"disk-{part}"
            below.mkdir()
            with disks.served(FullAfter(below, int(part * size)), disk):
                told = self.offload("--second", disk)
            self.assertEqual(told.code, 3, f"{part}: {told}")
            self.assert_not_to_be_wiped(told, "No space left on device")
            self.assertEqual([name for name in sums(disk) if name.endswith(".wav") and
                              sums(below)[name] not in sums(self.card).values()], [])

    def test_a_kill_while_all_is_read_back_leaves_no_yes_on_the_board(self):
        below, disk, reached = self.folder / "below", self.folder / "disk", self.folder / "reached"
        below.mkdir()
        with disks.served(disks.Mirror(below), disk):
            self.assert_may_be_wiped(self.offload("--second", disk))
        self.assertIn(" yes ", self.run_program("board", self.survey).out)
        flip_bit(self.recordings(self.copies())[2])

        def hold():
            reached.touch()
            time.sleep(3)

        with disks.served(disks.WhileRead(below, 200_000, hold), disk, attr_timeout=0):
            running = subprocess.Popen([BINARY, "offload", self.card, self.survey, "--deployment", "H1-march", "--quiet",
                                        "--one-copy", "--second", disk], stdout=subprocess.DEVNULL)
            while not reached.exists():
                time.sleep(0.02)
            running.kill()
            running.wait()
        told = self.run_program("board", self.survey)
        self.assertRegex(told.out, "H1-march .* no ")

    def test_a_pipe_in_place_of_a_copy_holds_nobody_up(self):
        self.offload()
        path = self.recordings(self.copies())[3]
        path.unlink()
        os.mkfifo(path)
        told = self.run_program("verify", "--scrub", self.survey, "--quiet", limit=20)
        self.assertEqual(told.code, 1, told)
        self.assertIn(path.name, told.flat)
        told = self.offload(limit=20)
        path.unlink()
        self.assert_may_be_wiped(told)  # with the copy in card-2

    def test_copies_that_may_not_be_read(self):
        self.offload()
        os.chmod(self.folder, 0o755)
        for path in [self.folder, *self.folder.rglob("*")]:
            os.chown(path, 65534, 65534)
        path = self.recordings(self.copies())[3]
        for closed in (path, path.parent, self.copies() / "SHA256SUMS"):
            mode = closed.stat().st_mode
            closed.chmod(0)
            told = self.offload(user=65534, group=65534, extra_groups=[])
            closed.chmod(mode)
            self.assertFalse(told.wipe, f"{closed} {told}")
            self.assertNotEqual(told.code, 0, told)
            self.assertNotIn("terminate", told.err)
        self.assert_may_be_wiped(self.offload())


class Repairs(TrustTest):
    def setUp(self):
        super().setUp()
        self.second = self.folder / "second"
        self.offload("--second", self.second)

    def repair(self):
        return self.run_program("offload", "--repair", self.survey, "--second", self.second, "--quiet")

    def test_both_copies_spoilt_in_different_places(self):
        victim, other = self.recordings(self.copies())[1], self.recordings(self.copies(self.second))[1]
        flip_bit(victim, 100)
        flip_bit(other, 3000)
        before = sums(self.folder)
        told = self.repair()
        self.assertEqual(told.code, 1, told)
        for path in (victim, other):
            name = str(path.relative_to(self.folder))
            self.assertEqual(before[name], sums(self.folder)[name])
        self.assert_not_to_be_wiped(self.offload("--second", self.second), victim.name)
        told = self.offload("--second", self.second, "--repair")
        self.assert_may_be_wiped(told, self.copies(), self.copies(self.second))

    def test_a_file_that_its_own_list_does_not_name_is_not_replaced(self):
        own = self.recordings(self.copies())[1]
        sheet = self.copies() / "SHA256SUMS"
        sheet.write_text("".join(line for line in sheet.read_text().splitlines(True) if own.name not in line))
        own.write_bytes(b"the only copy of another recording")
        told = self.repair()
        self.assertEqual(told.code, 1, told)
        self.assertEqual(own.read_bytes(), b"the only copy of another recording")
        self.assertIn(own.name, told.flat)

    def test_a_list_that_is_newer_on_one_disk(self):
        """The second disk was left at camp while a second card came; then it is used again."""
        old = shutil.copytree(self.second, self.folder / "old")
        more = self.folder / "more"
        (more / "DATA0").mkdir(parents=True)
        for number, path in enumerate(self.recordings()[:4]):
            (more / "DATA0" / path.name).write_bytes(path.read_bytes()[:-4] + b"els%d" % number)
        told = self.offload("--second", self.second, card=more)
        self.assertTrue(told.wipe, told)
        for card in (more, self.card):
            self.assertTrue(self.offload("--second", old, card=card).wipe)
            self.assert_nothing_lost(self.copies(), self.copies(old), self.copies(self.second), card=card)
        told = self.run_program("verify", "--scrub", self.survey, "--quiet", "--copies", old)
        self.assertEqual(told.code, 0, told)

    def test_a_scrub_that_is_interrupted(self):
        for how in (signal.SIGINT, signal.SIGKILL):
            with disks.served(Slow(self.second), self.folder / "slow"):
                running = subprocess.Popen([BINARY, "verify", "--scrub", self.survey, "--quiet", "--copies", self.folder / "slow"],
                                           stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
                time.sleep(0.3)
                running.send_signal(how)
                out = running.communicate(timeout=60)[0]
                self.assertIn(running.returncode, (130, -9), out)
            dates = (self.copies(self.second) / "PROVED.txt").read_text()
            self.assertEqual(len(dates.splitlines()), 13)
        told = self.run_program("verify", "--scrub", self.survey, "--quiet", "--copies", self.second)
        self.assertEqual(told.code, 0, told)


class OneDisk(TrustTest):
    def test_two_images_on_one_disk_are_one_disk(self):
        one, two = self.folder / "one", self.folder / "two"
        with disks.real_disk(self.folder / "1.image", one, 32), disks.real_disk(self.folder / "2.image", two, 32):
            copy_card(self.survey, one / "survey")
            told = self.offload("--second", two, survey=one / "survey", one=False)
            self.assert_not_to_be_wiped(told, "both copies are on one disk")
            told = self.offload("--second", two, one=False)
            self.assert_not_to_be_wiped(told, "both copies are on one disk")

    def test_an_image_that_lies_on_the_card(self):
        slot, disk = self.folder / "slot", self.folder / "disk"
        with disks.real_disk(self.folder / "image", slot, 64):
            copy_card(self.card, slot / "DCIM")
            with disks.real_disk(slot / "inner", disk, 32):
                told = self.offload("--second", disk, card=slot / "DCIM")
                self.assert_not_to_be_wiped(told, "is on the card's own disk")


class NamesOnFat(TrustTest):
    def test_ends_and_bytes_that_fat_does_not_keep(self):
        source = self.recordings()[0].read_bytes()
        names = (b"a.wav", b"a.wav.", b"a.wav ", b"b .wav", b"c./d.wav", b"c/d.wav", b"c /d.wav", b"\xff\xfe.wav", b"\xc3\xa9.wav",
                 b"\xc3\x89.wav", b"e\xcc\x81.wav", b"aux.wav", b"x\\y.wav", b"z\nz.wav", b"SHA256SUMS", b"sha256sums.", b"a.WAV")
        for number, name in enumerate(names):
            path = os.path.join(os.fsencode(self.card), name)
            os.makedirs(os.path.dirname(path), exist_ok=True)
            with open(path, "wb") as file:
                file.write(source[:-2] + bytes([number, 7]))
        for kind, options in (("vfat", "loop,utf8"), ("vfat", "loop"), ("exfat", "loop"), ("exfat-fuse", "")):
            for place in ("recordings", "hearwood"):
                shutil.rmtree(self.survey / place, ignore_errors=True)
            disk = self.folder / "disk"
            try:
                with made_disk(kind, self.folder / "image", disk, options):
                    for _ in range(2):
                        self.offload_and_compare(disk, 13 + len(names))
            except unittest.SkipTest as why:
                print(why, end=" ", file=sys.stderr)

    def offload_and_compare(self, disk, files):
        told = self.offload("--second", disk, "--force")
        self.assertEqual(lost(self.card, self.copies()), [], told)
        gone = lost(self.card, self.copies(disk))
        self.assertEqual(len(gone) + told.proved, files, f"{gone} {told}")
        self.assertEqual(told.wipe, not gone, f"{gone} {told}")


@contextlib.contextmanager
def made_disk(kind, image, at, options):
    if kind != "exfat-fuse":
        if not shutil.which(f"mkfs.{kind}"):
            raise unittest.SkipTest(f"no mkfs.{kind}")
        with disks.real_disk(image, at, 32, kind):
            pass
        with disks.mounted(image, at, options):
            yield
        return
    if not shutil.which("mount.exfat-fuse") or not shutil.which("mkfs.exfat"):
        raise unittest.SkipTest("no exfat-fuse")
    with open(image, "wb") as file:
        file.truncate(32 << 20)
    subprocess.run(["mkfs.exfat", image], check=True, capture_output=True)
    at.mkdir(exist_ok=True)
    with disks.loop_device(image) as device:
        subprocess.run(["mount.exfat-fuse", device, at], check=True, capture_output=True)
        try:
            yield
        finally:
            disks.take_away(at)


if __name__ == "__main__":
    disks.require()
    main()
