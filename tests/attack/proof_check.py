#!/usr/bin/python3
"""What 'may be wiped' rests on, without disks of a special make: spoilt copies, one copy or two, names with a dot, names
that are one, files too large, foreign and half-made databases, limits."""
import os
import pathlib
import resource
import shutil
import sqlite3
import subprocess
import threading
import time
import unittest

import attack_support  # noqa: F401 (finds support)
import support
from trust_support import BINARY, TrustTest, flip_bit, lost, main, sums


class Proof(TrustTest):
    def test_a_copy_that_rotted_since_is_never_counted(self):
        self.assert_may_be_wiped(self.offload())
        for number, victim in enumerate(self.recordings(self.copies())[:4]):
            before = victim.read_bytes()
            status = victim.stat()
            flip_bit(victim, number * 1000 + 50)
            told = self.offload()
            self.assert_not_to_be_wiped(told, "12 OF 13 FILES ARE PROVED", victim.name,
                                        "reads back differently from what the card holds")
            self.assertEqual(told.code, 1)
            victim.write_bytes(before)
            os.utime(victim, ns=(status.st_atime_ns, status.st_mtime_ns))
        self.assert_may_be_wiped(self.offload())

    def test_a_spoilt_second_copy_counts_as_much(self):
        second = self.folder / "second"
        self.offload("--second", second)
        flip_bit(self.recordings(self.copies(second))[3])
        told = self.offload("--second", second)
        self.assert_not_to_be_wiped(told, "12 OF 13 FILES ARE PROVED", str(second))
        flip_bit(self.recordings(self.copies(second))[3])  # the bit turns back
        self.assert_may_be_wiped(self.offload("--second", second), self.copies(), self.copies(second))

    def test_a_spoilt_file_that_is_no_recording(self):
        self.offload()
        flip_bit(self.copies() / "settings.txt", 2)
        self.assert_not_to_be_wiped(self.offload(), "settings.txt")

    def test_what_the_database_and_the_sums_say_of_a_spoilt_copy(self):
        self.offload()
        victim = self.recordings(self.copies())[5]
        flip_bit(victim)
        self.offload()
        with sqlite3.connect(self.survey / "hearwood/survey.db") as db:
            rows = dict(db.execute("SELECT path, proved FROM recordings").fetchall())
        self.assertEqual([path for path, proved in rows.items() if not proved],
                         [str(victim.relative_to(self.survey))])
        self.assertNotIn(str(victim.relative_to(self.copies())), (self.copies() / "PROVED.txt").read_text())

    def test_one_copy_is_no_second_one(self):
        told = self.offload(one=False)
        self.assert_not_to_be_wiped(told, "13 OF 13 FILES ARE PROVED", "--second", "--one-copy")
        self.assertEqual(told.code, 1)
        self.assert_nothing_lost(self.copies())
        told = self.offload("--second", self.folder / "second", one=False)
        self.assert_not_to_be_wiped(told, "both copies are on one disk")
        told = self.offload("--second", self.folder / "second")
        self.assert_may_be_wiped(told, self.copies(), self.copies(self.folder / "second"))
        self.assertEqual(told.code, 0)
        for words in ("deployment H1-march, site H1", "26 copies on 1 disk were read back in this run",
                      str(self.copies()), str(self.copies(self.folder / "second"))):
            self.assertIn(words, told.out)

    def test_dates_of_the_last_proof(self):
        self.offload("--second", self.folder / "second")
        for root in (self.survey, self.folder / "second"):
            lines = (self.copies(root) / "PROVED.txt").read_text().splitlines()
            self.assertEqual(len(lines), 13)
            for line in lines:
                self.assertRegex(line, r"^20\d\d-\d\d-\d\dT\d\d:\d\d:\d\dZ  \S")

    def test_names_with_a_dot_are_told(self):
        hidden = self.card / ".Trash-1000" / "files"
        hidden.mkdir(parents=True)
        shutil.copy(self.recordings()[0], hidden / "LT04_20260401_000000.wav")
        (self.card / ".index").write_text("x")
        told = self.offload()
        self.assert_not_to_be_wiped(told, ".Trash-1000/files/LT04_20260401_000000.wav", ".Trash-1000: ", ".index: ",
                                    "1 recording was left out")
        shutil.rmtree(self.card / ".Trash-1000")
        # What a desktop system puts beside a file has its name and is no sound (AppleDouble, RFC 1740).
        (self.card / "._LT04_20260314_050000.wav").write_bytes(bytes([0, 5, 0x16, 7, 0, 2, 0, 0]) + bytes(4088))
        told = self.offload()
        self.assertTrue(told.wipe, told)
        self.assertIn("._LT04_20260314_050000.wav: its name begins with a dot", told.out)

    def test_a_second_disk_named_by_one_word_is_made(self):
        told = self.offload("--second", "newname", cwd=self.folder)
        self.assert_may_be_wiped(told, self.copies(), self.copies(self.folder / "newname"))
        self.assertEqual(told.code, 0)

    def test_a_file_above_the_limit_is_named_and_the_rest_goes_on(self):
        large = self.card / "LT04_20260320_000000.wav"
        shutil.copy(self.recordings()[0], large)
        with open(large, "ab") as file:
            file.write(os.urandom(2_000_000))

        def limit():
            resource.setrlimit(resource.RLIMIT_FSIZE, (1_000_000, 1_000_000))

        told = self.offload("--force", preexec_fn=limit)
        self.assertEqual(told.code, 1, told)
        self.assert_not_to_be_wiped(told, "13 OF 14 FILES ARE PROVED", large.name, "a file this large cannot be written")
        self.assertEqual(lost(self.card, self.copies()), [large.name])
        self.assert_may_be_wiped(self.offload("--force"))

    def test_a_limit_below_the_database_is_one_line(self):
        def limit():
            resource.setrlimit(resource.RLIMIT_FSIZE, (3000, 3000))

        for command in (["measure", self.survey, "--quiet"], ["run", self.survey, "--quiet"]):
            self.copies().mkdir(parents=True, exist_ok=True)
            shutil.copy(self.recordings()[0], self.copies())
            told = self.run_program(*command, preexec_fn=limit)
            self.assertEqual(told.code, 3, told)
            self.assertEqual(len(told.err.strip().splitlines()), 1, told)
        self.assertIn(self.run_program("measure", self.survey, "--quiet").code, (0, 1))

    def test_a_database_of_another_program_stays_untouched(self):
        folder = self.survey / "hearwood"
        folder.mkdir()
        with sqlite3.connect(folder / "survey.db") as db:
            db.execute("CREATE TABLE birds (name TEXT)")
        db.close()
        for content in ((folder / "survey.db").read_bytes(), b"no database at all\n" * 100, bytes(8192)):
            (folder / "survey.db").write_bytes(content)
            for command in (["measure", self.survey], ["run", self.survey], ["tabulate", self.survey],
                            ["offload", self.card, self.survey, "--deployment", "H1-march", "--one-copy"]):
                told = self.run_program(*command)
                self.assertEqual(told.code, 2, told)
                self.assertIn("is not a database of hearwood", told.err)
                self.assertNotIn("move", told.err)
                self.assertEqual((folder / "survey.db").read_bytes(), content)

    def test_an_empty_database_heals(self):
        self.offload()
        database = self.survey / "hearwood" / "survey.db"
        for make in (lambda: database.write_bytes(b""),
                     lambda: sqlite3.connect(database).execute("PRAGMA journal_mode = WAL").fetchall()):
            database.unlink()
            make()
            told = self.run_program("run", self.survey, "--quiet")
            self.assertIn(told.code, (0, 1), told)
            self.assertGreater(database.stat().st_size, 10000)

    def test_a_journal_that_a_kill_left_is_taken_back(self):
        """As one does that comes while the log is switched on: every command finds the journal first."""
        self.offload("--measure")
        database, journal = self.survey / "hearwood/survey.db", self.survey / "hearwood/survey.db-journal"
        db = sqlite3.connect(database, isolation_level=None)
        db.execute("PRAGMA journal_mode = DELETE")
        db.execute("PRAGMA cache_size = 1")
        db.execute("BEGIN")
        db.execute("CREATE TABLE half (done BLOB)")
        db.execute("INSERT INTO half SELECT randomblob(8000) FROM (SELECT 1 UNION SELECT 2), segments, segments AS more LIMIT 90")
        killed = database.read_bytes(), journal.read_bytes()
        db.execute("ROLLBACK")
        db.close()
        for command in (["check", self.survey], ["run", self.survey, "--quiet"], ["tabulate", self.survey, "--quiet"],
                        ["board", self.survey], ["verify", self.survey, "--quiet"]):
            database.write_bytes(killed[0])
            journal.write_bytes(killed[1])
            told = self.run_program(*command)
            self.assertIn(told.code, (0, 1), f"{command} {told}")
            self.assertFalse(journal.exists(), f"{command} {told}")
            with sqlite3.connect(database) as seen:
                self.assertEqual(seen.execute("PRAGMA integrity_check").fetchall(), [("ok",)])
                self.assertEqual(seen.execute("SELECT count(*) FROM sqlite_schema WHERE name = 'half'").fetchall(), [(0,)])
            seen.close()

    def test_the_first_run_killed_at_each_of_its_first_changes_of_the_database(self):
        self.copies().mkdir(parents=True)
        shutil.copy(self.recordings()[0], self.copies())
        library = pathlib.Path(BINARY).parent / "tests/fault_library.so"
        for number in range(1, 31):
            shutil.rmtree(self.survey / "hearwood", ignore_errors=True)
            faults = {"LD_PRELOAD": support.preloadable(library), "FAULT_CALLS": "write,pwrite,fsync,rename,unlink",
                      "FAULT_PATH": "survey.db", "FAULT_AT": str(number), "FAULT_HOW": "KILL"}
            killed = self.run_program("run", self.survey, "--quiet", env=dict(os.environ) | faults)
            self.assertEqual(killed.code, -9, killed)
            told = self.run_program("run", self.survey, "--quiet")
            self.assertIn(told.code, (0, 1), f"killed at change {number}: {told}")

    def test_the_first_run_killed_at_its_beginning(self):
        self.copies().mkdir(parents=True)
        shutil.copy(self.recordings()[0], self.copies())
        for delay in (0.001, 0.004, 0.008, 0.012, 0.016, 0.02, 0.03, 0.05):
            shutil.rmtree(self.survey / "hearwood", ignore_errors=True)
            running = subprocess.Popen([BINARY, "run", str(self.survey), "--quiet"], stdout=subprocess.DEVNULL,
                                       stderr=subprocess.DEVNULL)
            time.sleep(delay)
            running.kill()
            running.wait()
            told = self.run_program("run", self.survey, "--quiet")
            self.assertIn(told.code, (0, 1), told)

    def test_two_first_runs_at_once(self):
        self.copies().mkdir(parents=True)
        shutil.copy(self.recordings()[0], self.copies())
        for _ in range(4):
            shutil.rmtree(self.survey / "hearwood", ignore_errors=True)
            both = [subprocess.Popen([BINARY, "run", str(self.survey), "--quiet"], stdout=subprocess.PIPE,
                                     stderr=subprocess.STDOUT, text=True) for _ in range(2)]
            for one in both:
                said = one.communicate(timeout=120)[0]
                self.assertIn(one.returncode, (0, 1), said)

    def test_a_reader_of_the_database_holds_nobody_up(self):
        self.offload()
        for path in self.recordings(self.copies()):
            path.unlink()
        reader = sqlite3.connect(self.survey / "hearwood/survey.db")
        reader.execute("BEGIN")
        reader.execute("SELECT count(*) FROM recordings").fetchall()
        began = time.monotonic()
        self.assert_may_be_wiped(self.offload())
        self.assertLess(time.monotonic() - began, 10)
        reader.close()

    def test_a_database_that_cannot_be_written_stops_no_proof(self):
        self.offload()
        shutil.rmtree(self.survey / "recordings")
        writer = sqlite3.connect(self.survey / "hearwood/survey.db", isolation_level=None)
        writer.execute("BEGIN IMMEDIATE")
        for path in self.recordings()[6:]:
            path.rename(path.with_name("again-" + path.name))
        told = self.offload("--force")
        self.assertIn("survey.db lacks recordings", told.out)
        self.assertEqual(told.code, 3, told)
        self.assertEqual(told.proved, 13, told)
        self.assert_nothing_lost(self.copies())
        writer.execute("ROLLBACK")
        writer.close()
        self.assert_may_be_wiped(self.offload("--force"))
        with sqlite3.connect(self.survey / "hearwood/survey.db") as db:
            self.assertEqual(db.execute("SELECT count(*) FROM recordings WHERE path LIKE '%again-%' AND proved")
                             .fetchall(), [(6,)])

    def test_a_passing_failure_of_the_database_loses_nothing(self):
        """The n-th write to its log meets a full disk, and none after it: what was not written is written at the end."""
        second = self.folder / "second"
        library = support.preloadable(pathlib.Path(BINARY).parent / "tests/fault_library.so")
        seen = 0
        for number in range(1, 60):
            for place in (second, self.survey / "recordings", self.survey / "hearwood"):
                shutil.rmtree(place, ignore_errors=True)
            told = self.offload("--second", second, env=dict(os.environ) | {
                "LD_PRELOAD": library, "FAULT_CALLS": "write,pwrite", "FAULT_PATH": "survey.db-wal", "FAULT_AT": str(number),
                "FAULT_HOW": "ENOSPC"})
            self.assert_nothing_lost(self.copies(), self.copies(second))
            if told.code != 0:
                continue
            seen += 1
            with sqlite3.connect(self.survey / "hearwood/survey.db") as db:
                self.assertEqual(db.execute("SELECT count(*) FROM recordings WHERE proved").fetchall(), [(12,)], number)
                self.assertEqual(db.execute("SELECT value FROM notes WHERE key = 'second_copies'").fetchall(), [(str(second),)], number)
            db.close()
        self.assertGreater(seen, 3)

    def test_a_sheet_of_sums_that_was_damaged_is_told(self):
        self.offload()
        sheet = self.copies() / "SHA256SUMS"
        sheet.write_text(sheet.read_text().replace("  ", " ", 1))
        told = self.offload()
        self.assertIn("SHA256SUMS: line 1 is no", told.out)
        self.assert_may_be_wiped(told)
        subprocess.run(["sha256sum", "-c", "--quiet", "--strict", "SHA256SUMS", "SHA256SUMS.sha256"],
                       cwd=self.copies(), check=True)


if __name__ == "__main__":
    main()
