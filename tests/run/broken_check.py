"""Broken recordings of every kind among good ones: each is listed with its reason, the batch goes on, and the
program ends with 1."""
import os
import pathlib
import struct
import subprocess
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from support import noise, wav  # noqa: E402

GOOD = noise(4, 1)
# Root reads what nobody may read; without these two of its powers it is held to the modes of files as a user is.
POWERS = "-dac_override,-dac_read_search"
LIKE_A_USER = ["setpriv", f"--inh-caps={POWERS}", f"--bounding-set={POWERS}"] if os.geteuid() == 0 else []


def broken_files():
    """Name, bytes, expected state, words of the reason."""
    floats = GOOD.astype("<f4") / 32768
    floats[5000] = float("nan")
    as_float = dict(sample_format=3, bits=32)
    return [
        ("empty_20310504_010000.wav", b"", "unreadable", "empty"),
        ("text_20310504_010100.wav", b"This is a note, not a recording.\n" * 40, "unreadable", "not sound"),
        ("header_20310504_010200.wav", wav(b""), "unreadable", "no samples"),
        ("half_header_20310504_010300.wav", wav(GOOD)[:20], "unreadable", "fmt chunk"),
        ("unfinished_20310504_010400.wav", wav(GOOD, data_size=0), "damaged", "header"),
        ("promised_20310504_010500.wav", wav(GOOD, data_size=4 * 48000 * 2), "damaged", "truncated"),
        ("odd_20310504_010600.wav", wav(GOOD.tobytes() + b"\x07"), "damaged", "odd bytes"),
        ("nan_20310504_010700.wav", wav(floats.tobytes(), **as_float), "damaged", "no numbers"),
        ("no_channels_20310504_010800.wav", wav(GOOD, channels=0), "unreadable", "0 channels"),
        ("slow_20310504_010900.wav", wav(GOOD, rate=1), "unreadable", "1 Hz"),
        ("fast_20310504_011000.wav", wav(GOOD, rate=4_000_000), "unreadable", "4"),
        ("no start.wav", wav(GOOD), "no start time", "when it began"),
        ("no such day_20310431_010000.wav", wav(GOOD), "no start time", "when it began"),
        ("with space_20310504_020000.wav", wav(GOOD), "measured", None),
        ('with "quotes", \'and commas\'_20310504_020100.wav', wav(GOOD), "measured", None),
        ("with\nnewline_20310504_020200.wav", wav(GOOD), "measured", None),
        ("=formula_20310504_020300.wav", wav(GOOD), "measured", None),
        (b"not utf8 \xff\xfe_20310504_020400.wav", wav(GOOD), "measured", None),
        ("\u202ebackwards_20310504_020500.wav", wav(GOOD), "measured", None),
    ]


def stored_name(name):
    raw = name if isinstance(name, bytes) else name.encode()
    text = ""
    for char in raw.decode("utf-8", "surrogateescape"):
        text += f"\\x{ord(char) - 0xDC00:02X}" if "\udc80" <= char <= "\udcff" else char.replace("\\", "\\\\")
    return text


class SoundSurvey(support.SurveyTest):
    """A survey with one sound recording a site, to put others beside."""

    def setUp(self):
        super().setUp()
        self.survey = self.sheets()
        for site in ("K1", "K2", "H1", "H2"):
            self.put(self.survey, site, "20310504_053000", wav(noise(4, 2)))


class Broken(SoundSurvey):
    def setUp(self):
        super().setUp()
        folder = os.fsencode(self.survey / "recordings" / "DK1")
        self.files = broken_files()
        for name, content, _, _ in self.files:
            raw = name if isinstance(name, bytes) else name.encode()
            with open(os.path.join(folder, raw), "wb") as file:
                file.write(content)
        (self.survey / "recordings" / "DK1" / "folder_20310504_030000.wav").mkdir()
        locked = self.put(self.survey, "K2", "20310504_040000", wav(GOOD))
        locked.chmod(0)
        self.addCleanup(locked.chmod, 0o600)

    def test_each_is_listed_with_its_reason_and_the_rest_is_used(self):
        self.run_program("run", self.survey, "--quiet", expect=1, under=LIKE_A_USER)
        recordings = self.table(self.survey, "recordings.csv").set_index("file")
        # A reader takes the guard against formulas off.
        for name, _, state, words in self.files:
            file = "recordings/DK1/" + stored_name(name)
            with self.subTest(file=file):
                self.assertIn(file, recordings.index)
                self.assertEqual(recordings.state[file], state)
                if state != "measured":
                    self.assertTrue(recordings.note[file])
                    self.assertIn(words.lower(), recordings.note[file].lower())
        self.assertEqual(recordings.state["recordings/DK1/folder_20310504_030000.wav"], "unreadable")
        self.assertEqual(recordings.state["recordings/DK2/K2_20310504_040000.wav"], "unreadable")
        segments = self.table(self.survey, "segments.csv")
        used = set(segments.file)
        for name, _, state, _ in self.files:
            self.assertEqual("recordings/DK1/" + stored_name(name) in used, state in ("measured", "damaged"), name)
        self.assertTrue((self.tables(self.survey) / "contrasts.csv").exists())

    def test_check_tells_the_same_before_anything_is_measured(self):
        told = " ".join(self.run_program("check", self.survey, "--quiet", "--all", expect=1).out.split())
        for name, _, state, _ in self.files:
            if state == "measured" or name.startswith("nan"):  # what only measuring can find
                continue
            self.assertIn(f"{state.replace(' ', '-')}, recordings/DK1/{name}", told)

    def test_names_cannot_drive_the_terminal(self):
        for command in ("check", "measure", "tabulate"):
            result = self.run_program(command, self.survey, "--quiet", expect=1)
            for text in (result.stdout, result.stderr):
                self.assertNotIn("\u202e".encode(), text)
                self.assertNotIn(b"\x1b", text)
                self.assertNotIn(b"with\nnewline", text)


class Streams(SoundSurvey):
    """stdout or stderr on a full disk (/dev/full, Linux full(4)), or closed by whoever called the program."""

    def setUp(self):
        super().setUp()
        self.put(self.survey, "K1", "20310504_060000", b"")

    def code(self, command, redirection):
        return subprocess.run(["sh", "-c", f'"$0" {command} "$1" {redirection}', support.BINARY, str(self.survey)],
                              timeout=300, stdout=subprocess.DEVNULL).returncode

    def test_a_log_that_cannot_be_written_stops_nothing(self):
        for redirection in ("2>/dev/full", "2>&-"):
            with self.subTest(redirection=redirection):
                self.assertEqual(self.code("run", redirection), 1)
                self.assertEqual(self.code("measure --no-such-option", redirection), 2)
                self.assertEqual(self.code("tabulate --quiet nowhere", redirection), 2)
        self.assertEqual(len(self.table(self.survey, "segments.csv")), 8)
        # Nothing that was meant for stderr went into a file that had taken its number.
        self.run_program("verify", self.survey)

    def test_results_that_cannot_be_written_are_no_success(self):
        self.run_program("measure", self.survey, expect=1)
        for command in ("check", "tabulate", "--help", "measure --help"):
            for redirection in (">/dev/full", ">&-"):
                with self.subTest(command=command, redirection=redirection):
                    self.assertEqual(self.code(command, redirection), 3)

    def test_a_reader_who_has_seen_enough_stops_nothing(self):
        for command in ("measure", "tabulate", "check", "--help"):
            with self.subTest(command=command):
                reader, writer = os.pipe()
                os.close(reader)
                result = subprocess.run([support.BINARY, *command.split(), str(self.survey)], timeout=300, stdout=writer,
                                        stderr=subprocess.PIPE)
                os.close(writer)
                self.assertIn(result.returncode, (0, 1))
                for word in (b"written", b"pipe"):
                    self.assertNotIn(word, result.stderr)
        self.assertTrue((self.survey / "hearwood" / "tables" / "segments.csv").exists())


class WholeOfIt(support.SurveyTest):
    def test_a_survey_of_broken_recordings_only_still_ends_in_tables(self):
        survey = self.sheets()
        for site in ("K1", "K2", "H1", "H2"):
            self.put(survey, site, "20310504_053000", struct.pack("<I", 7) * 100)
        self.run_program("run", survey, "--quiet", expect=1)
        self.assertEqual(len(self.table(survey, "segments.csv")), 0)
        self.assertEqual(set(self.table(survey, "recordings.csv").state), {"unreadable"})


if __name__ == "__main__":
    unittest.main()
