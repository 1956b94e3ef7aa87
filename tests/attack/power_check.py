#!/usr/bin/python3
"""The power fails: what a disk may then hold. A disk in user space writes down every write and every flush of an offload onto
an ext4 on it; from any moment on, of what was not flushed any part may be missing. Each such disk is mounted and looked at.

    power_check.py [MOMENTS] [SEED]

Sound, at every moment: the file system mounts; what has the name of a file of the card is that file; what SHA256SUMS or
survey.db call proved is there and equal; offloading again completes it. From the verdict on all of it is there.
"""
import contextlib
import errno
import os
import pathlib
import random
import shutil
import sqlite3
import stat
import subprocess
import sys
import unittest

import disks
from trust_support import TrustTest, lost, main, sums

MOMENTS = int(sys.argv[1]) if len(sys.argv) > 1 else 12
SEED = int(sys.argv[2]) if len(sys.argv) > 2 else 1
SIZE = 96 << 20


class Sectors(disks.Operations):
    """One file, the disk. `log` is a file of (kind, offset, length) and the bytes; a write to /say goes in as kind S."""

    use_ns = True

    def __init__(self, log):
        self.held, self.log = bytearray(SIZE), open(log, "wb")

    def note(self, kind, offset=0, data=b""):
        self.log.write(b"%c %d %d\n" % (kind, offset, len(data)) + data)
        self.log.flush()

    def getattr(self, path, handle=None):
        if path == "/":
            return dict(st_mode=stat.S_IFDIR | 0o755, st_nlink=2)
        if path in ("/disk", "/say"):
            return dict(st_mode=stat.S_IFREG | 0o600, st_nlink=1, st_size=SIZE if path == "/disk" else 0)
        raise disks.FuseOSError(errno.ENOENT)

    def readdir(self, path, handle):
        return [".", "..", "disk", "say"]

    def open(self, path, info):
        info.direct_io = 1
        return 0

    def read(self, path, size, offset, info):
        return bytes(self.held[offset:offset + size])

    def write(self, path, data, offset, info):
        if path == "/say":
            self.note(ord("S"), 0, data)
        else:
            self.held[offset:offset + len(data)] = data
            self.note(ord("W"), offset, data)
        return len(data)

    def fsync(self, path, data_only, info):
        self.note(ord("F"))
        return 0

    truncate = flush = release = lambda self, *ignored: 0


def events_of(log):
    events = []
    with open(log, "rb") as file:
        while head := file.readline():
            kind, offset, length = head.split()
            events.append((kind.decode(), int(offset), file.read(int(length))))
    return events


def held_after(events, moment, keep):
    """The disk when the power fails after this event: all up to the last flush, of the rest what `keep` chooses."""
    flushed = max((i for i in range(moment + 1) if events[i][0] == "F"), default=-1)
    disk = bytearray(SIZE)
    for i, (kind, offset, data) in enumerate(events[:moment + 1]):
        if kind == "W" and (i <= flushed or keep()):
            disk[offset:offset + len(data)] = data
    return disk


class PowerCut(TrustTest):
    files = 10

    def record(self, read_meanwhile=False, make=("mkfs.ext4", "-q")):
        """Offloads onto a fresh file system on the disk above, where it is wished while another program reads survey.db. Returns its
        events, with those where the offload began and ended."""
        place = self.folder / "sectors"
        with disks.served(Sectors(self.folder / "log"), place, raw_fi=True):
            with disks.loop_device(place / "disk") as device:
                subprocess.run([*make, device], check=True, capture_output=True)
                with disks.mounted(device, self.folder / "on", "rw"), contextlib.ExitStack() as reading:
                    shutil.copytree(self.survey, self.folder / "on/survey")
                    if read_meanwhile:
                        reading.enter_context(self.reader(self.folder / "on/survey"))
                    subprocess.run(["sync", "-f", self.folder / "on"], check=True)
                    (place / "say").write_text("begin")
                    told = self.offload("--measure", survey=self.folder / "on/survey")
                    (place / "say").write_text("end")
        self.assertTrue(told.wipe, told)
        events = events_of(self.folder / "log")
        said = {data: i for i, (kind, _, data) in enumerate(events) if kind == "S"}
        return events, said[b"begin"], said[b"end"]

    @contextlib.contextmanager
    def reader(self, survey):
        self.run_program("measure", survey, "--quiet")  # nothing is there yet; it makes the database
        with contextlib.closing(sqlite3.connect(survey / "hearwood/survey.db")) as db:
            db.execute("BEGIN")
            db.execute("SELECT count(*) FROM recordings").fetchall()
            yield

    def faults(self, survey):
        """What contradicts the card in a survey as the power cut left it."""
        copies, bad = self.copies(survey), []
        have = {name: value for name, value in sums(copies).items() if not name.startswith(".offload/")} \
            if copies.exists() else {}
        want = sums(self.card)
        bad += [f"{name} is not the card's" for name, value in have.items() if name in want and value != want[name]]
        with contextlib.suppress(FileNotFoundError):
            for line in (copies / "SHA256SUMS").read_text().splitlines():
                value, name = line.split("  ", 1)
                bad += [f"SHA256SUMS names {name}"] if have.get(name) != value else []
        database = pathlib.Path(survey, "hearwood/survey.db")
        if database.exists() and database.stat().st_size:
            with contextlib.closing(sqlite3.connect(database)) as db:
                if db.execute("PRAGMA integrity_check").fetchall() != [("ok",)]:
                    bad.append("survey.db is damaged")
                for path, value in db.execute("SELECT path, sha256 FROM recordings WHERE proved"):
                    name = os.path.relpath(path, "recordings/H1-march")
                    bad += [f"survey.db calls {name} proved"] if have.get(name) != value else []
        return bad

    def test_at_any_moment(self):
        self.cut_at_moments(*self.record())

    def test_at_any_moment_on_btrfs(self):
        """There a sync of one file brings no name of another to the disk, as it does on ext4."""
        if not shutil.which("mkfs.btrfs") or "btrfs" not in pathlib.Path("/proc/filesystems").read_text():
            self.skipTest("no btrfs here")
        self.cut_at_moments(*self.record(make=("mkfs.btrfs", "-q", "--mixed")))

    def cut_at_moments(self, events, begin, end):
        chance = random.Random(SEED)
        moments = [(end, 0), (end, 0.5)] + [(chance.randint(begin, end), chance.choice((0, 0.5, 0.5, 1)))
                                            for _ in range(MOMENTS)]
        for number, (moment, share) in enumerate(moments):
            with self.subTest(moment=moment, of=(begin, end), kept=share):
                image = self.folder / "image"
                image.write_bytes(held_after(events, moment, lambda: chance.random() < share))
                with self.after(image):
                    survey = self.folder / "after/survey"
                    self.assertEqual(self.faults(survey), [])
                    if moment == end:
                        self.assert_nothing_lost(self.copies(survey))
                    if number % 3 == 0:
                        told = self.offload("--measure", survey=survey)
                        self.assertTrue(told.wipe, told)
                        self.assertEqual(self.faults(survey), [])

    @contextlib.contextmanager
    def after(self, image):
        """Btrfs does not mount two file systems of one name at once: each is wholly gone before the next."""
        with disks.loop_device(image) as device, disks.mounted(device, self.folder / "after", "rw"):
            yield

    def test_rows_are_kept_though_another_program_reads(self):
        """They are then in the log alone: it cannot be cleared while it is read."""
        events, _, end = self.record(read_meanwhile=True)
        (self.folder / "image").write_bytes(held_after(events, end, lambda: False))
        with disks.mounted(self.folder / "image", self.folder / "after"):
            survey = self.folder / "after/survey"
            self.assertEqual(self.faults(survey), [])
            with contextlib.closing(sqlite3.connect(survey / "hearwood/survey.db")) as db:
                self.assertEqual(db.execute("SELECT count(*) FROM recordings WHERE proved").fetchall(), [(10,)])

    def test_a_disk_that_lies_about_flushing(self):
        """A tenth of the large writes is lost though flushed; nobody can foresee it, and the next offload must see it."""
        chance = random.Random(SEED)
        events, begin, end = self.record()
        spoilt = 0
        for _ in range(5):
            disk = bytearray(SIZE)
            for i, (kind, offset, data) in enumerate(events[:end + 1]):
                if kind == "W" and not (i > begin and len(data) >= 8192 and chance.random() < 0.3):
                    disk[offset:offset + len(data)] = data
            (self.folder / "image").write_bytes(disk)
            try:
                mount = contextlib.ExitStack()
                mount.enter_context(disks.mounted(self.folder / "image", self.folder / "after"))
            except subprocess.CalledProcessError:
                continue
            with mount:
                survey = self.folder / "after/survey"
                before = lost(self.card, self.copies(survey))
                told = self.offload(survey=survey)
                after = lost(self.card, self.copies(survey))
                self.assertFalse(told.wipe and after, f"{after}\n{told}")
                spoilt += bool(before)
        self.assertGreater(spoilt, 0)


if __name__ == "__main__":
    disks.require()
    sys.argv[1:] = []
    main()
