#!/usr/bin/python3
"""Slips of people: one folder for two deployments, the same card copied to two, too many sites; and verify against rot."""
import os
import pathlib
import shutil
import sqlite3
import struct
import subprocess
import unittest

from attack_support import SITES, AttackTest
from support import BINARY, noise, wav
from trust_support import TrustTest, flip_bit, sums


class OneFolderForTwo(AttackTest):
    def refused(self):
        for command in ("check", "run", "measure"):
            told = self.run_program(command, self.survey, expect=2)
            self.assertRegex(told.err, r"deployments.csv:\d+:\d+ \(folder\)")
        return told.err

    def test_by_a_link(self):
        self.fill()
        shutil.rmtree(self.survey / "recordings/DK2")
        (self.survey / "recordings/DK2").symlink_to("DK1")
        self.assertIn("is the folder of line 2 by another name", self.refused())

    def test_by_a_link_above_it(self):
        self.fill(deployments="deployment,site,folder\nDK1,K1,recordings/DK1\nDK2,K2,again/DK1\nDH1,H1,recordings/DH1\n"
                              "DH2,H2,recordings/DH2\n")
        (self.survey / "again").symlink_to("recordings")
        self.assertIn("is the folder of line 2 by another name", self.refused())

    def test_one_inside_the_other_by_a_link(self):
        self.fill()
        (self.survey / "recordings/DK1/inner").mkdir()
        shutil.rmtree(self.survey / "recordings/DK2")
        (self.survey / "recordings/DK2").symlink_to("DK1/inner")
        self.assertIn("lies in the folder of line 2, behind a link or a mount", self.refused())

    @unittest.skipIf(os.geteuid() != 0, "mounting needs root")
    def test_by_a_bind_mount(self):
        self.fill()
        place = self.survey / "recordings/DK2"
        if subprocess.run(["mount", "--bind", self.survey / "recordings/DK1", place], capture_output=True).returncode:
            self.skipTest("this container mounts nothing")
        try:
            self.assertIn("is the folder of line 2 by another name", self.refused())
        finally:
            subprocess.run(["umount", place], check=True)


class SameSound(AttackTest):
    def test_the_same_card_under_two_deployments(self):
        self.fill()
        for number in range(3):
            self.put(self.survey, "K1", f"20310505_0{number}3000", wav(noise(4, 100 + number)))
            shutil.copy(self.survey / f"recordings/DK1/K1_20310505_0{number}3000.wav",
                        self.survey / f"recordings/DH2/H2_20310505_0{number}3000.wav")
        for command in ("check", "run", "check"):  # before measuring, and after
            told = " ".join(self.run_program(command, self.survey, expect=None).out.split())
            self.assertIn("DH2 and DK1 hold the same sound: 3 recordings in both", told)
            self.assertIn("recordings/DH2/H2_20310505_003000.wav", told)

    def test_recordings_of_one_size_are_not_the_same(self):
        self.fill()
        self.assertNotIn("hold the same sound", self.run_program("run", self.survey, expect=None).out)


class TooManySites(AttackTest):
    def test_they_are_refused_with_the_limit(self):
        self.sheets(self.survey, sites="site,latitude,longitude,nutrient_status\n" + "".join(
            f"s{i},{1 + i / 1e6},{110 + i % 1000 / 1000},{('rich', 'poor')[i % 2]}\n" for i in range(100_000)))
        told = self.run_program("check", self.survey, expect=2)
        self.assertIn("100,000 sites; at most 3,000", told.err)
        self.assertEqual(len(told.err.splitlines()), 1)


class KilledListening(AttackTest):
    def test_a_sheet_without_its_page_is_made_anew(self):
        self.fill()
        for number, site in enumerate(SITES):
            self.put(self.survey, site, "20310505_053000", wav(noise(4, 500 + number)))
        self.run_program("run", self.survey, "--quiet", expect=None)
        listen = ("listen", self.survey, "--clips", "4", "--screened", "0", "--seconds", "1", "--repeats", "0", "--quiet")
        self.run_program(*listen)
        whole = sums(self.survey / "hearwood/listen")
        self.assertIn("is there already", self.run_program(*listen, expect=2).err)
        (self.survey / "hearwood/listen/listen.html").unlink()  # as a kill between the key and the page leaves it
        self.run_program(*listen)
        self.assertEqual(sums(self.survey / "hearwood/listen"), whole)


class VerifyBeforeMeasuring(TrustTest):
    """An offload leaves copies, and nothing else that could be held against anything."""
    files = 6

    def setUp(self):
        super().setUp()
        self.second = self.folder / "second"

    def verify(self, *more):
        return self.run_program("verify", self.survey, "--quiet", "--copies", self.second, *more)

    def spoil_and_verify(self, code, *words):
        """One flipped bit of a copy is named whatever else there is to be said."""
        victim = self.recordings(self.copies(self.second))[2]
        before = victim.read_bytes()
        flip_bit(victim)
        told = self.verify()
        self.assertEqual(told.code, code, told)
        self.assertIn(f"{victim.name}: is not the file that SHA256SUMS describes", told.flat)
        for word in words:
            self.assertIn(word, told.flat + told.err)
        victim.write_bytes(before)

    def test_right_after_an_offload_the_copies_are_proved(self):
        self.offload("--second", self.second)
        dates = self.copies(self.second) / "PROVED.txt"
        dates.write_text("".join("2020-01-01T00:00:00Z" + line[20:] for line in dates.read_text().splitlines(keepends=True)))
        told = self.verify()
        self.assertEqual(told.code, 0, told)
        self.assertIn("14 files named by 2 SHA256SUMS read again", told.flat)
        self.assertIn("nothing has been measured yet", told.flat)
        self.assertIn("the copies are what SHA256SUMS says", told.flat)
        self.assertNotIn("2020-01-01", dates.read_text())
        self.spoil_and_verify(1, "1 disagreement was found")

    def test_measured_on_the_way_and_not_tabulated_yet(self):
        self.offload("--second", self.second, "--measure")
        told = self.verify()
        self.assertEqual(told.code, 0, told)
        self.assertIn("the tables have not been written yet", told.flat)
        self.assertIn("6 segments measured again and compared to the bit", told.flat)
        self.assertIn("recordings, copies and database agree", told.flat)
        self.spoil_and_verify(1)

    def test_a_database_that_is_gone_or_spoilt_or_old_stops_no_reading_of_copies(self):
        self.offload("--second", self.second, "--measure")
        database = self.survey / "hearwood/survey.db"
        whole = database.read_bytes()
        toml = self.survey / "survey.toml"
        toml.write_text(toml.read_text() + "\n[measure]\nsegment_s = 30\n")
        self.spoil_and_verify(1, "were measured under other settings")
        database.write_bytes(b"no database at all" * 1000)
        self.spoil_and_verify(1, "survey.db: is not a database of hearwood")
        database.write_bytes(whole[:8192] + bytes(len(whole) - 8192))
        self.spoil_and_verify(3)
        database.unlink()
        self.spoil_and_verify(1, "nothing has been measured yet")

    def test_where_there_is_nothing_at_all_it_says_so(self):
        told = self.run_program("verify", self.survey)
        self.assertEqual(told.code, 2, told)
        self.assertIn("nothing has been measured yet", told.err)


class Verify(TrustTest):
    files = 6

    def setUp(self):
        super().setUp()
        self.second = self.folder / "second"
        self.offload("--second", self.second, "--measure")
        self.run_program("run", self.survey, "--quiet")

    def verify(self, *more):
        return self.run_program("verify", self.survey, "--quiet", *more)

    def test_one_flipped_bit_is_told_wherever_it_is(self):
        both = ("--copies", self.second)
        self.assertEqual(self.verify(*both).code, 0, self.verify(*both))
        name = self.recordings(self.copies())[0].relative_to(self.copies())
        for path, options in ((self.copies() / name, ()), (self.copies() / "settings.txt", ()),
                              (self.copies() / "SHA256SUMS", ()), (self.copies() / "SHA256SUMS.sha256", ()),
                              (self.copies(self.second) / name, both),
                              (self.copies(self.second) / "settings.txt", both),
                              (self.copies(self.second) / "SHA256SUMS", both)):
            before, status = path.read_bytes(), path.stat()
            for at in range(0, len(before), max(1, len(before) // 5)):
                flip_bit(path, at)
                told = self.verify(*options)
                self.assertEqual(told.code, 1, f"{path} byte {at}: {told}")
                self.assertIn(path.name.removesuffix(".sha256"), told.flat)
                path.write_bytes(before)
                os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns))
        self.assertEqual(self.verify(*both).code, 0)

    def test_missing_files_and_lines_that_are_none(self):
        (self.copies() / "settings.txt").unlink()
        told = self.verify()
        self.assertEqual(told.code, 1)
        self.assertIn("settings.txt: is named by SHA256SUMS and not there", told.flat)
        self.recordings(self.copies(self.second))[2].unlink()
        self.assertIn("is named by SHA256SUMS and not there", self.verify("--copies", self.second).flat)
        sheet = self.copies() / "SHA256SUMS"
        sheet.write_text(sheet.read_text() + "what is this\n" + "0" * 64 + "  ../../sites.csv\n")
        told = self.verify()
        self.assertIn("line 8 is no", told.flat)
        self.assertIn("names a file outside of its folder", told.flat)
        self.assertEqual(self.verify("--copies", self.folder / "nowhere").code, 2)

    def test_scrub_reads_what_was_proved_longest_ago_first(self):
        dates = self.copies() / "PROVED.txt"
        lines = dates.read_text().splitlines()
        oldest = lines[3].split("  ", 1)[1]
        lines[3] = "2020-01-01T00:00:00Z  " + oldest
        dates.write_text("\n".join(lines) + "\n")
        told = self.verify("--scrub")
        self.assertEqual(told.code, 0, told)
        self.assertIn("7 files named by 1 SHA256SUMS read again", told.flat)
        self.assertNotIn("2020-01-01", dates.read_text())
        self.assertNotIn("never", told.flat)
        flip_bit(self.copies() / oldest)
        self.assertEqual(self.verify("--scrub", "--copies", self.second).code, 1)
        self.assertNotIn(oldest, dates.read_text())

    def test_dates_of_a_clock_that_was_ahead_put_off_no_reading(self):
        dates = self.copies() / "PROVED.txt"
        dates.write_text("".join("2099-01-01T00:00:00Z" + line[20:] for line in dates.read_text().splitlines(keepends=True)))
        flip_bit(self.recordings(self.copies())[2])
        told = self.verify("--scrub", "--copies", self.second)
        self.assertEqual(told.code, 1, told)
        self.assertNotIn("2099", dates.read_text())
        self.assertIn("least recent proof of a copy: never", told.flat)

    def test_repair_from_the_card_and_from_the_other_disk(self):
        victim, other = self.recordings(self.copies())[1], self.recordings(self.copies(self.second))[4]
        whole = sums(self.copies())
        flip_bit(victim)
        flip_bit(other)
        told = self.offload("--second", self.second, "--repair")
        self.assert_may_be_wiped(told, self.copies(), self.copies(self.second))
        self.assertEqual(told.flat.count(": made anew from"), 2, told)
        # The card is wiped; the disks have each other.
        flip_bit(victim)
        other.unlink()
        self.copies().joinpath("settings.txt").unlink()
        told = self.run_program("offload", "--repair", self.survey, "--second", self.second, "--quiet")
        self.assertEqual(told.code, 0, told)
        self.assertEqual(told.flat.count(": made anew from"), 3, told)
        self.assert_nothing_lost(self.copies(), self.copies(self.second))
        still = {name: value for name, value in sums(self.copies()).items() if name not in ("PROVED.txt", "OFFLOAD.txt")}
        self.assertEqual({name: whole[name] for name in still}, still)
        # Both spoilt: told, and neither is touched.
        flip_bit(victim)
        flip_bit(self.copies(self.second) / victim.relative_to(self.copies()), 77)
        told = self.run_program("offload", "--repair", self.survey, "--second", self.second, "--quiet")
        self.assertEqual(told.code, 1, told)
        self.assertIn("neither copy has its sum", told.flat)


if __name__ == "__main__":
    unittest.main()
