#!/usr/bin/python3
"""What turns while an offload runs, or between two: the clock, the bytes that a card gives, files that become folders or holes, a
list of sums that says a thing twice, a disk that fills up while all is read back, a disk made of several."""
import contextlib
import os
import shutil
import signal
import subprocess
import time

import disks
from trust_support import BINARY, TrustTest, flip_bit, lost, main, sums


class WrongOnce(disks.Mirror):
    """A card, or its reader, that hands over one wrong byte of a file, without an error, the first time."""

    def __init__(self, below, name):
        super().__init__(below)
        self.name = name

    def read(self, path, size, offset, handle):
        data = super().read(path, size, offset, handle)
        if path.endswith(self.name) and offset == 0 and data:
            self.name = "\0"
            data = data[:100] + bytes([data[100] ^ 1]) + data[101:]
        return data


class BlindInside(disks.CaseBlind):
    """Takes capitals for small letters in one folder only, as ext4 does in a folder that was given the attribute."""

    def real(self, path):
        return super().real(path) if path.startswith("/recordings/H1-march/DATA0") else disks.Mirror.real(self, path)


class Copies(TrustTest):
    def setUp(self):
        super().setUp()
        self.second = self.folder / "second"

    def test_a_copy_cut_short_and_grown_again_by_a_hole(self):
        self.offload("--second", self.second)
        for number, folder in enumerate((self.copies(), self.copies(self.second))):
            victim = self.recordings(folder)[number]
            status = victim.stat()
            os.truncate(victim, status.st_size // 2)
            os.truncate(victim, status.st_size)
            os.utime(victim, ns=(status.st_atime_ns, status.st_mtime_ns))
            self.assert_not_to_be_wiped(self.offload("--second", self.second), victim.name, "reads back differently")
            told = self.run_program("verify", self.survey, "--quiet", "--copies", self.second)
            self.assertEqual(told.code, 1, told)
            self.assertIn(victim.name + ": is not the file that SHA256SUMS describes", told.flat)
        self.assert_may_be_wiped(self.offload("--second", self.second, "--repair"), self.copies(), self.copies(self.second))

    def test_a_copy_that_became_a_folder(self):
        self.offload("--second", self.second)
        for folder in (self.copies(), self.copies(self.second)):
            victim = self.recordings(folder)[3]
            victim.unlink()
            victim.mkdir()
            (victim / "x.wav").write_bytes(b"x")
            told = self.run_program("verify", self.survey, "--quiet", "--copies", self.second)
            self.assertEqual(told.code, 1, told)
            self.assertIn(victim.name, told.flat)
        for more in ((), ("--repair",), ()):
            told = self.offload("--second", self.second, *more)
            self.assertTrue(told.wipe, told)
            self.assert_nothing_lost(self.copies(), self.copies(self.second))

    def test_a_folder_of_copies_that_became_a_file(self):
        self.offload("--second", self.second)
        folder = self.copies(self.second) / "DATA0"
        shutil.rmtree(folder)
        folder.write_bytes(b"no folder")
        told = self.offload("--second", self.second)
        self.assertFalse(told.wipe, told)
        self.assertIn("DATA0", told.all)
        self.assertEqual(folder.read_bytes(), b"no folder")

    def test_capitals_that_are_one_in_a_single_folder(self):
        names = [path.name for path in self.recordings()]
        twin = self.card / "DATA0" / names[1].lower()
        shutil.copy(self.card / "DATA0" / names[4], twin)
        with open(twin, "r+b") as file:
            file.seek(500)
            file.write(b"twin")
        below, disk = self.folder / "below", self.folder / "disk"
        below.mkdir()
        with disks.served(BlindInside(below), disk):
            for _ in range(3):
                told = self.offload("--second", disk, "--force")
                self.assertEqual(told.wipe, not lost(self.card, self.copies(below)), told)
        self.assertTrue(told.wipe, told)


class Lists(TrustTest):
    files = 5

    def setUp(self):
        super().setUp()
        self.second = self.folder / "second"
        self.offload("--second", self.second)
        self.list = self.copies(self.second) / "SHA256SUMS"

    def verify(self):
        return self.run_program("verify", self.survey, "--quiet", "--copies", self.second, limit=30)

    def test_a_name_with_two_sums(self):
        text = self.list.read_text()
        name = text.splitlines()[1].split("  ", 1)[1]
        for lines in (f"{'0' * 64}  {name}\n{text}", f"{text}{'0' * 64}  {name}\n"):
            self.list.write_text(lines)
            (self.list.parent / "SHA256SUMS.sha256").unlink(missing_ok=True)
            told = self.verify()
            self.assertEqual(told.code, 1, told)
            self.assertIn("another sum", told.flat)
            self.assertIn(name, told.flat)
            told = self.offload("--second", self.second)
            self.assert_may_be_wiped(told, self.copies(), self.copies(self.second))
            self.assertIn("another sum", told.flat)
            self.assertEqual(self.list.read_text(), text)

    def test_a_list_said_twice_over(self):
        text = self.list.read_text()
        self.list.write_text(text + text)
        self.assertEqual(self.verify().code, 1)  # it is not the file of which SHA256SUMS.sha256 is the sum
        self.assert_may_be_wiped(self.offload("--second", self.second), self.copies(), self.copies(self.second))
        self.assertEqual(self.list.read_text(), text)
        self.assertEqual(self.verify().code, 0)

    def test_a_list_of_which_the_sums_went_to_other_names(self):
        lines = [line.split("  ", 1) for line in self.list.read_text().splitlines()]
        turned = "".join(f"{lines[i - 1][0]}  {lines[i][1]}\n" for i in range(len(lines)))
        self.list.write_text(turned)
        told = self.verify()
        self.assertEqual(told.code, 1)
        for more in ((), ("--repair",), ()):
            told = self.offload("--second", self.second, *more)
            self.assert_may_be_wiped(told, self.copies(), self.copies(self.second))

    def test_lists_that_contradict_each_other_repair_nothing(self):
        name = "settings.txt"
        text = self.list.read_text()
        self.list.write_text("".join(f"{'0' * 64}  {name}\n" if line.endswith(name + "\n") else line
                                     for line in text.splitlines(keepends=True)))
        flip_bit(self.copies(self.second) / name)
        before = sums(self.copies()), (self.copies(self.second) / name).read_bytes()
        told = self.run_program("offload", "--repair", self.survey, "--second", self.second, "--quiet")
        self.assertEqual(told.code, 1, told)
        self.assertIn(f"{name}: the two lists have different sums of it", told.flat)
        after = sums(self.copies()), (self.copies(self.second) / name).read_bytes()
        self.assertEqual({n: s for n, s in after[0].items() if n != "PROVED.txt"}, {n: s for n, s in before[0].items() if n != "PROVED.txt"})
        self.assertEqual(after[1], before[1])

    def test_a_survey_is_no_card(self):
        told = self.offload(card=self.survey)
        self.assertEqual(told.code, 2, told)
        self.assertIn("it is a survey, not a card", told.err)

    def test_a_list_that_is_no_text(self):
        self.list.write_bytes(os.urandom(5000))
        told = self.verify()
        self.assertEqual(told.code, 1, told)
        self.assert_may_be_wiped(self.offload("--second", self.second), self.copies(), self.copies(self.second))

    def test_a_list_that_is_a_folder_or_a_pipe(self):
        good = self.recordings(self.copies())[2]
        for make in (os.mkdir, os.mkfifo):
            self.list.unlink()
            make(self.list)
            flip_bit(good)
            told = self.verify()
            flip_bit(good)
            self.assertNotEqual(told.code, 0, told)
            self.assertIn("SHA256SUMS", told.all)
            self.assertIn(good.name + ": is not the file", told.flat, "what lies elsewhere was not read")
            told = self.offload("--second", self.second, limit=30)
            self.assertFalse(told.wipe and lost(self.card, self.copies(self.second)), told)
            self.assertIn("SHA256SUMS", told.all)
            os.rmdir(self.list) if self.list.is_dir() else self.list.unlink()
            self.assert_may_be_wiped(self.offload("--second", self.second), self.copies(), self.copies(self.second))


class WhileAllIsReadBack(TrustTest):
    def test_the_surveys_disk_fills_up_and_a_copy_turns_out_spoilt(self):
        below, disk, small = self.folder / "below", self.folder / "disk", self.folder / "small"
        below.mkdir()
        with disks.memory(self.folder / "memory") as memory, disks.real_disk(memory / "image", small, 64):
            shutil.copytree(self.survey, small / "survey", ignore=shutil.ignore_patterns("recordings", "hearwood"))
            survey = small / "survey"
            with disks.served(disks.Mirror(below), disk):
                self.assert_may_be_wiped(self.offload("--second", disk, survey=survey), self.copies(survey), self.copies(below))
            victim = self.recordings(self.copies(below))[-1]

            def happens():
                flip_bit(victim)
                with open(small / "film", "wb") as film, contextlib.suppress(OSError):
                    while True:
                        film.write(bytes(4096))
                        film.flush()

            with disks.served(disks.WhileRead(below, 30_000, happens), disk, attr_timeout=0):
                told = self.offload("--second", disk, survey=survey)
            self.assertFalse(told.wipe, told)
            self.assertNotEqual(told.code, 0, told)
            self.assertIn("DO NOT WIPE", told.out, told)
            self.assertNotIn("MAY BE WIPED", (self.copies(survey) / "OFFLOAD.txt").read_text())
            (small / "film").unlink()
            self.assertNotRegex(self.run_program("board", survey).out, "H1-march .* yes ")
            told = self.offload("--second", below, "--repair", survey=survey)
            self.assert_may_be_wiped(told, self.copies(survey), self.copies(below))


    def test_a_disk_that_gives_nothing_any_more(self):
        below, disk = self.folder / "below", self.folder / "disk"
        below.mkdir()
        with disks.served(disks.Mirror(below), disk):
            self.assert_may_be_wiped(self.offload("--second", disk), self.copies(), self.copies(below))

        class Dead(disks.Mirror):
            name = ""

            def read(self, path, size, offset, handle):
                if path.endswith(self.name + ".wav") or path.endswith(self.name + ".part"):
                    raise disks.FuseOSError(disks.errno.EIO)
                return super().read(path, size, offset, handle)

        with disks.served(Dead(below), disk):
            told = self.offload("--second", disk)
        self.assertEqual(told.code, 3, told)
        self.assert_not_to_be_wiped(told, "cannot read the copy back")
        self.assertNotRegex(self.run_program("board", self.survey).out, "H1-march .* yes ")

    def test_one_copy_that_cannot_be_read_stops_no_other(self):
        below, disk = self.folder / "below", self.folder / "disk"
        below.mkdir()
        with disks.served(disks.Mirror(below), disk):
            self.offload("--second", disk)
        victim = self.recordings(self.copies(below))[3]
        os.utime(victim)  # so that it is looked at before the closing pass

        class BadSector(disks.Mirror):
            def read(self, path, size, offset, handle):
                if path == "/" + str(victim.relative_to(below)):
                    raise disks.FuseOSError(disks.errno.EIO)
                return super().read(path, size, offset, handle)

        with disks.served(BadSector(below), disk):
            told = self.offload("--second", disk)
            self.assertTrue(told.wipe, told)
            self.assertIn(f"{victim.name} is at card-2/", told.flat)
        self.assert_nothing_lost(self.copies(), self.copies(below))

    def test_ctrl_c(self):
        below, disk, reached = self.folder / "below", self.folder / "disk", self.folder / "reached"
        below.mkdir()
        with disks.served(disks.Mirror(below), disk):
            self.offload("--second", disk)

        def hold():
            reached.touch()
            time.sleep(1)

        for slow, options in ((below, ("--second", disk)), (self.card, ())):  # a disk, or the card in its second reading
            reached.unlink(missing_ok=True)
            after = 30_000 if slow == below else sum(path.stat().st_size for path in self.recordings()) + 40_000
            with disks.served(disks.WhileRead(slow, after, hold), disk, attr_timeout=0):
                card = self.card if slow == below else disk
                running = subprocess.Popen([BINARY, "offload", card, self.survey, "--deployment", "H1-march", "--quiet", "--one-copy",
                                            *options], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
                while not reached.exists():
                    time.sleep(0.02)
                    self.assertIsNone(running.poll())
                running.send_signal(signal.SIGINT)
                out = running.communicate(timeout=60)[0]
            self.assertEqual(running.returncode, 130, out)
            self.assertIn("DO NOT WIPE THIS CARD", out)
            self.assertIn("the run was interrupted", out)
            self.assertNotIn("MAY BE WIPED", (self.copies() / "OFFLOAD.txt").read_text())


class Card(TrustTest):
    def test_a_card_that_cannot_be_listed_again(self):
        slot = self.folder / "slot"
        size = sum(path.stat().st_size for path in self.recordings())

        class NoList(disks.WhileRead):
            def readdir(self, path, handle):
                if not self.happens:
                    raise disks.FuseOSError(disks.errno.EIO)
                return super().readdir(path, handle)

        with disks.served(NoList(self.card, size + 20_000, lambda: None), slot, attr_timeout=0, entry_timeout=0):
            told = self.offload(card=slot)
        self.assertNotEqual(told.code, 0, told)
        self.assert_not_to_be_wiped(told)
        self.assert_nothing_lost(self.copies())

    def test_bytes_that_come_otherwise_the_second_time(self):
        slot, name = self.folder / "slot", self.recordings()[5].name
        for more in ((), ("--measure",), ("--repair", "--second", self.folder / "second")):
            shutil.rmtree(self.survey / "recordings", ignore_errors=True)
            with disks.served(WrongOnce(self.card, name), slot):
                told = self.offload(*more, card=slot)
            self.assertEqual(len(lost(self.card, self.copies())), 1)
            self.assert_not_to_be_wiped(told, name, "gave other bytes when it was read again")
            self.assertEqual(told.proved, 12, told)
            self.assertNotIn(name, (self.copies() / "PROVED.txt").read_text())
            told = self.offload(*more)
            self.assert_may_be_wiped(told)
            self.assertIn(f"{name} is at card-2/", told.flat)

    def test_who_asks_for_one_reading_is_told_what_that_leaves_open(self):
        slot, name = self.folder / "slot", self.recordings()[5].name
        with disks.served(WrongOnce(self.card, name), slot):
            told = self.offload("--read-once", card=slot)
        self.assertIn("the card was read once: what it gave then is taken for what it holds", told.flat)
        self.assert_may_be_wiped(self.offload())

    def test_a_card_that_is_gone_when_it_is_to_be_read_again(self):
        slot = self.folder / "slot"

        class GivesOnce(disks.Mirror):
            given = set()

            def read(self, path, size, offset, handle):
                if (path, offset) in self.given:
                    raise disks.FuseOSError(disks.errno.EIO)
                self.given.add((path, offset))
                return super().read(path, size, offset, handle)

        with disks.served(GivesOnce(self.card), slot):
            told = self.offload(card=slot)
        self.assertEqual(told.code, 3, told)
        self.assert_not_to_be_wiped(told, "gives nothing any more")
        self.assert_nothing_lost(self.copies())

    def test_a_file_that_becomes_a_folder_under_way(self):
        slot, victim = self.folder / "slot", self.recordings()[1]

        def happens():
            victim.unlink()
            victim.mkdir()

        with disks.served(disks.WhileRead(self.card, 40_000, happens), slot, attr_timeout=0, entry_timeout=0):
            told = self.offload(card=slot)
        self.assert_not_to_be_wiped(told, victim.name)


class Clock(TrustTest):
    def test_a_clock_that_is_set_back_again_and_again(self):
        library = self.folder / "back.so"
        source = self.folder / "back.c"
        source.write_text("""#define _GNU_SOURCE
#include <dlfcn.h>
#include <time.h>
int clock_gettime(clockid_t which, struct timespec *out) {
    static int (*real)(clockid_t, struct timespec *);
    static long calls;
    if (!real) real = (int (*)(clockid_t, struct timespec *))dlsym(RTLD_NEXT, "clock_gettime");
    int result = real(which, out);
    if (which == CLOCK_REALTIME) out->tv_sec -= 86400L * 365 * __atomic_add_fetch(&calls, 1, __ATOMIC_RELAXED) / 10;
    return result;
}
""")
        subprocess.run(["cc", "-shared", "-fPIC", "-o", library, source, "-ldl"], check=True)
        back = dict(os.environ, LD_PRELOAD=str(library))
        second = self.folder / "second"
        told = self.offload("--second", second, "--measure", env=back)
        self.assert_may_be_wiped(told, self.copies(), self.copies(second))
        flip_bit(self.recordings(self.copies(second))[4])
        self.assert_not_to_be_wiped(self.offload("--second", second, env=back), "reads back differently")
        self.assertNotIn("MAY BE WIPED", (self.copies() / "OFFLOAD.txt").read_text())
        self.assertNotRegex(self.run_program("board", self.survey, env=back).out, "H1-march .* yes ")
        self.assertEqual(self.run_program("verify", "--scrub", self.survey, "--copies", second, env=back).code, 1)
        told = self.offload("--second", second, "--repair", env=back)
        self.assert_may_be_wiped(told, self.copies(), self.copies(second))
        self.assertEqual(self.run_program("verify", "--scrub", self.survey, "--copies", second).code, 0)


if __name__ == "__main__":
    disks.require()
    main()
