#!/usr/bin/python3
"""A voice that was silenced stays so: in means and tests, when the card comes again, after a kill; and whoever silenced it
is told where else it is."""
import csv
import hashlib
import os
import shutil
import subprocess
import unittest

from attack_support import AttackTest
from support import noise, wav
from trust_support import TrustTest, sums

RATE = 24000


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


class Voices(TrustTest):
    files = 6

    def setUp(self):
        super().setUp()
        self.second = self.folder / "second"
        self.offload("--second", self.second, "--measure")
        self.run_program("run", self.survey, "--quiet")
        self.victim = self.recordings(self.copies())[2]
        self.name = self.victim.relative_to(self.copies())
        self.whole = self.victim.read_bytes()

    def forget(self, **how):
        return self.run_program("forget", self.victim, "--from", "0.1", "--to", "0.2", "--reason", "two people", **how)

    def log(self):
        with open(self.survey / "hearwood/forgotten.csv") as file:
            return list(csv.DictReader(file))

    def test_other_copies_are_named(self):
        told = self.forget()
        self.assertEqual(told.code, 0, told)
        self.assertIn(f"{self.second}/recordings/H1-march/{self.name} still holds it", told.flat)
        shutil.move(self.second, self.folder / "away")
        self.victim.write_bytes(self.whole)
        self.assertIn("may hold it; its disk is not connected", self.forget().flat)

    def test_the_card_again_is_silenced_on_arrival(self):
        self.forget()
        silent = digest(self.victim)
        self.assertNotEqual(silent, digest(self.card / self.name))
        told = self.offload()
        self.assertTrue(told.wipe, told)
        self.assertIn("forgotten before", told.out)
        self.assertIn(str(self.name), told.out)
        # Onto the second disk too, which still held the voice; and after both copies are gone.
        for _ in range(2):
            told = self.offload("--second", self.second)
            self.assertTrue(told.wipe, told)
            for root in (self.survey, self.second):
                self.assertNotIn(digest(self.card / self.name), sums(self.copies(root)).values(), root)
                self.assertEqual(digest(self.copies(root) / self.name), silent)
                subprocess.run(["sha256sum", "-c", "--quiet", "SHA256SUMS"], cwd=self.copies(root), check=True)
            for root in (self.survey, self.second):
                (self.copies(root) / self.name).unlink()
        self.assertEqual(len(self.log()), 1)

    def test_the_same_stretch_twice_is_one_line(self):
        self.forget()
        once = self.log()
        self.assertEqual(self.forget().code, 0)
        self.assertEqual(self.log(), once)

    def test_an_intention_is_carried_out_by_any_later_run(self):
        self.forget()
        lines = (self.survey / "hearwood/forgotten.csv").read_text().splitlines()
        fields = lines[1].split(",")
        fields[4] = ""  # as a kill before the end leaves it
        (self.survey / "hearwood/forgotten.csv").write_text(lines[0] + "\n" + ",".join(fields) + "\n")
        silent = digest(self.victim)
        self.victim.write_bytes(self.whole)
        other = self.recordings(self.copies())[3]
        told = self.run_program("forget", other, "--from", "0", "--to", "0.1", "--reason", "a laugh")
        self.assertEqual(told.code, 0, told)
        self.assertEqual(digest(self.victim), silent)
        self.assertEqual([bool(row["sha256_after"]) for row in self.log()], [True, True])
        self.assertEqual(self.log()[0]["sha256_before"], hashlib.sha256(self.whole).hexdigest())

    @unittest.skipIf(os.geteuid() != 0, "needs root to make a folder that root cannot write to")
    def test_what_cannot_be_removed_is_named(self):
        clips = self.survey / "hearwood/report/clips"
        clips.mkdir(parents=True, exist_ok=True)
        (clips / "x.flac").write_text("a voice")
        if subprocess.run(["chattr", "+i", clips / "x.flac"], capture_output=True).returncode:
            self.skipTest("this file system has no immutable files")
        try:
            told = self.forget()
        finally:
            subprocess.run(["chattr", "-i", clips / "x.flac"], check=True)
        self.assertEqual(told.code, 3, told)
        self.assertIn("could not be removed and may hold the voice", told.err)
        self.assertNotEqual(self.victim.read_bytes(), self.whole)
        self.assertEqual(self.forget().code, 0)
        self.assertFalse((clips / "x.flac").exists())

    def test_a_second_disk_alone_gives_all_back(self):
        self.forget()
        self.offload("--second", self.second, "--measure")
        self.run_program("run", self.survey, "--quiet")
        tables = sums(self.survey / "hearwood/tables")
        rebuilt = self.folder / "rebuilt"
        shutil.copytree(self.second, rebuilt)
        told = self.run_program("run", rebuilt, "--quiet")
        self.assertIn(told.code, (0, 1), told)
        self.assertIn("proofs of copies taken up", told.flat)
        self.assertEqual(sums(rebuilt / "hearwood/tables"), tables)


class Means(AttackTest):
    def test_a_segment_with_a_silenced_stretch_counts_nowhere(self):
        self.fill()
        path = self.put(self.survey, "K1", "20310505_053000", wav(noise(8, 5), rate=RATE))
        self.run_program("run", self.survey, "--quiet", expect=None)
        before = self.table(self.survey, "segments.csv")
        self.run_program("forget", path, "--from", 2.5, "--to", 2.51, "--reason", "voices")
        self.run_program("run", self.survey, "--quiet", expect=None)
        after = self.table(self.survey, "segments.csv")
        self.assertEqual(len(before), len(after))
        touched = after[after["flags"].fillna("").str.contains("silenced")]
        self.assertEqual([row["segment"] for _, row in touched.iterrows() if "20310505" in row["file"]], [1])
        self.assertEqual(len(touched), 1)
        self.assertFalse(bool(touched.iloc[0]["kept"]))
        others = [(row["file"], row["segment"], row["kept"]) for _, row in before.iterrows()]
        self.assertEqual([place for place in others if not ("20310505" in place[0] and place[1] == 1)],
                         [(row["file"], row["segment"], row["kept"]) for _, row in after.iterrows()
                          if not ("20310505" in row["file"] and row["segment"] == 1)])


if __name__ == "__main__":
    unittest.main()
