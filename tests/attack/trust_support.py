"""A card, a survey and the program, for attacks on what 'may be wiped' rests on."""
import hashlib
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

BINARY = os.environ.get("HEARWOOD_BINARY", "hearwood")
HERE = pathlib.Path(__file__).parent


def sums(folder):
    """{path below the folder: SHA-256 of what stands there}."""
    found = {}
    for place, folders, files in os.walk(folder):
        for name in files:
            path = pathlib.Path(place, name)
            found[str(path.relative_to(folder))] = hashlib.sha256(path.read_bytes()).hexdigest()
    return found


def lost(card, copies):
    """What of the card is in no file of the folder of copies."""
    there = set(sums(copies).values())
    return sorted(name for name, value in sums(card).items() if value not in there)


def flip_bit(path, at=None):
    """Rot: one bit, and neither size nor time tell."""
    status = os.stat(path)
    at = status.st_size // 2 if at is None else at
    with open(path, "r+b") as file:
        file.seek(at)
        byte = file.read(1)[0]
        file.seek(at)
        file.write(bytes([byte ^ 4]))
    os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns))


class Told:
    """What one run of offload said."""

    def __init__(self, done):
        self.code, self.out, self.err = done.returncode, done.stdout, done.stderr
        self.all = self.out + self.err
        self.flat = " ".join(self.out.split())  # lines are wrapped
        self.wipe = "MAY BE WIPED" in self.out
        box = re.search(r"([\d,]+) OF ([\d,]+) FILES ARE PROVED", self.out)
        self.proved = int(box[1].replace(",", "")) if box else 0

    def __str__(self):
        return f"exit {self.code}\n{self.out}\n{self.err}"


class TrustTest(unittest.TestCase):
    maxDiff = None
    files = 12

    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="hearwood-trust-"))
        self.addCleanup(shutil.rmtree, self.folder, True)
        subprocess.run(["/usr/bin/python3", HERE.parent / "card" / "make_card.py", self.folder / "made", "--files",
                        str(self.files), "--seconds", "0.5", "--clean"], check=True)
        self.card, self.survey = self.folder / "made" / "card", self.folder / "made" / "survey"
        (self.card / "settings.txt").write_text("gain 20\n")

    def copies(self, root=None):
        return pathlib.Path(root or self.survey) / "recordings" / "H1-march"

    def recordings(self, folder=None):
        return sorted(pathlib.Path(folder or self.card).rglob("*.wav"))

    def run_program(self, *arguments, limit=120, **how):
        return Told(subprocess.run([BINARY, *map(str, arguments)], capture_output=True, text=True, errors="replace",
                                   timeout=limit, **how))

    def offload(self, *options, card=None, survey=None, one=True, **how):
        enough = ["--one-copy"] if one else []
        return self.run_program("offload", card or self.card, survey or self.survey, "--deployment", "H1-march",
                                "--quiet", *enough, *options, **how)

    def assert_nothing_lost(self, *folders, card=None):
        for folder in folders:
            self.assertEqual(lost(card or self.card, folder), [], f"not in {folder}")

    def assert_may_be_wiped(self, told, *folders):
        self.assertTrue(told.wipe, told)
        self.assert_nothing_lost(*(folders or [self.copies()]))

    def assert_not_to_be_wiped(self, told, *words):
        self.assertFalse(told.wipe, told)
        self.assertIn("DO NOT WIPE", told.out, told)
        for word in words:
            self.assertIn(word, told.all)


def main():
    sys.exit(not unittest.main(module="__main__", exit=False, verbosity=2).result.wasSuccessful())
