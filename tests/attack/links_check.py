"""Symbolic links and paths that lead out of the survey, planted where the program writes: nothing outside is ever
written, replaced or removed."""
import unittest

from attack_support import COMMANDS, AttackTest


class Links(AttackTest):
    def test_links_among_the_recordings_are_not_followed(self):
        self.fill()
        card = self.survey / "recordings" / "DK1"
        (card / "out").symlink_to(self.outside)
        (card / "precious_20310504_060000.wav").symlink_to(self.outside / "precious_20310504_053000.wav")
        (card / "round").symlink_to(".")
        (card / "up").symlink_to("../..")
        (card / "a_20310504_070000.wav").symlink_to("b_20310504_070000.wav")
        (card / "b_20310504_070000.wav").symlink_to("a_20310504_070000.wav")
        self.before()
        for command in COMMANDS:
            result = self.run_program(command, self.survey, "--quiet", expect=None)
            self.assertIn(result.returncode, (0, 1), command)
        recordings = self.table(self.survey, "recordings.csv")
        self.assertEqual((recordings.state == "measured").sum(), 4)
        self.assert_nothing_outside_changed()

    def test_folders_that_leave_the_survey_stop_every_command(self):
        for folder in ("../outside", str(self.outside), "recordings/../../outside", "recordings/link", "recordings/link/sub"):
            with self.subTest(folder=folder):
                self.fill(deployments="deployment,site,folder\n" + "".join(
                    f"D{site},{site},{folder if site == 'K1' else 'recordings/D' + site}\n"
                    for site in ("K1", "K2", "H1", "H2")))
                link = self.survey / "recordings" / "link"
                if not link.is_symlink():
                    link.symlink_to(self.outside)
                self.before()
                for command in (*COMMANDS, "run", "spectra", "listen", "robustness", "plan"):
                    extra = ["--out", self.survey / "x.nc"] if command == "spectra" else []
                    result = self.run_program(command, self.survey, *extra, expect=2)
                    self.assertIn("deployments.csv:2:3 (folder)", result.err)
                self.assertFalse((self.survey / "hearwood").exists())
                self.assert_nothing_outside_changed()

    def planted(self, where, target, commands):
        """A link at `where` (in the survey) to `target`: every command refuses and names it."""
        with self.subTest(link=where):
            link, aside = self.survey / where, self.folder / "aside"
            if link.exists():
                link.rename(aside)
            link.symlink_to(target)
            self.before()
            for command in commands:
                extra = ["--out", self.survey / "x.nc"] if command == "spectra" else []
                result = self.run_program(command, self.survey, *extra, expect=2)
                self.assertIn(f"{where}: a symbolic link leads out of the survey folder", result.err)
            self.assert_nothing_outside_changed()
            link.unlink()
            if aside.exists():
                aside.rename(link)

    def test_links_where_the_program_writes(self):
        self.fill()
        self.run_program("run", self.survey, "--quiet")
        every = [*COMMANDS, "run", "spectra", "listen", "robustness", "plan"]
        self.planted("hearwood", self.outside, every)
        self.planted("hearwood/tables", self.outside, every)
        self.planted("hearwood/tables", "../../outside", ["tabulate", "contrast"])
        self.planted("hearwood/tables/segments.csv", self.outside / "precious.txt", ["tabulate"])
        self.planted("hearwood/tables/segments.csv.part", self.outside / "precious.txt", ["tabulate"])
        self.planted("hearwood/report", self.outside, ["report", "run"])
        self.planted("hearwood/report/clips/k1", self.outside, ["report"])
        self.planted("hearwood/listen", self.outside, ["listen"])
        self.planted("hearwood/parts", self.outside, ["measure", "gather"])
        # Not there yet: writing would make it.
        self.planted("hearwood/survey.db", self.outside / "new.db", ["measure", "tabulate"])
        self.planted("hearwood/survey.db-journal", self.outside / "new", ["measure"])
        self.planted("hearwood/new", "new", ["measure"])  # a circle
        (self.survey / "hearwood/inside").symlink_to("tables")
        self.run_program("run", self.survey, "--quiet")

    def test_forget_and_its_list_of_clips_stay_inside(self):
        self.fill()
        self.run_program("measure", self.survey, "--quiet")
        (self.survey / "recordings/DK1/out").symlink_to(self.outside)
        (self.survey / "notes").symlink_to(self.outside / "sub")
        link = self.survey / "recordings/DK1/precious_20310504_060000.wav"
        link.symlink_to(self.outside / "precious_20310504_053000.wav")
        self.before()
        for file in (link, self.survey / "recordings/DK1/out/precious_20310504_053000.wav"):
            result = self.run_program("forget", file, "--from", 0, "--to", 1, "--reason", "test", expect=2)
            self.assertIn("symbolic link", result.err)
        self.assert_nothing_outside_changed()
        self.assertTrue(link.is_symlink())
        self.run_program("forget", self.survey / "recordings/DK1/K1_20310504_053000.wav", "--from", 0, "--to", 1,
                         "--reason", "test")
        self.assert_nothing_outside_changed()

    def test_a_forged_key_does_not_lead_forget_to_other_files(self):
        self.fill()
        self.run_program("measure", self.survey, "--quiet")
        sheet = ["listen", self.survey, "--quiet", "--clips", 4, "--repeats", 0, "--screened", 0]
        self.run_program(*sheet)
        key = self.survey / "hearwood/listening_key.csv"
        lines = key.read_text().splitlines()
        place = lines[0].split(",").index("clip")
        cells = lines[1].split(",")
        recording = self.survey / cells[lines[0].split(",").index("recording")]
        (self.outside / "precious.wav").write_bytes(b"precious")
        cells[place] = "../../../../outside/precious"
        self.assertTrue((self.survey / "hearwood/listen/clips" / (cells[place] + ".wav")).exists(), "the attack would hit")
        key.write_text("\n".join([lines[0], ",".join(cells), *lines[2:]]) + "\n")
        self.before()
        content = recording.read_bytes()
        result = self.run_program("forget", recording, "--from", 0, "--to", 4, "--reason", "test", expect=2)
        self.assertIn("key.csv:2:2 (clip)", result.err)
        self.assert_nothing_outside_changed()
        self.assertEqual(recording.read_bytes(), content)
        self.run_program(*sheet, "--force")
        self.run_program("forget", recording, "--from", 0, "--to", 4, "--reason", "test")
        self.assert_nothing_outside_changed()


if __name__ == "__main__":
    unittest.main()
