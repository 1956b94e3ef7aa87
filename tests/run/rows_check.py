"""One wrong row of a sheet stops only what needs it, a contrast that is refused leaves no old answer behind, and a dead
microphone is told as what it is."""
import hashlib
import json
import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from support import noise, wav, write_survey  # noqa: E402

SITES = ("K1", "K2", "K3", "K4", "H1", "H2", "H3", "H4")
MEASURE = "[measure]\nsegment_s = 2\nstep_s = 1\n"


class RowsTest(support.SurveyTest):
    def setUp(self):
        super().setUp()
        self.survey = self.folder / "survey"
        write_survey(self.survey, [{"site": s, "nutrient_status": "rich" if s[0] == "K" else "poor"} for s in SITES],
                     rest=MEASURE)
        for i, site in enumerate(SITES):
            for j in range(4):
                self.put(self.survey, site, f"2031050{j + 4}_060000", wav(noise(4, 10 * i + j)))

    def spoil(self, sheet, old, new):
        path = self.survey / sheet
        text = path.read_text()
        self.assertIn(old, text)
        path.write_text(text.replace(old, new))

    def content(self, pattern="*.csv"):
        return {path.name: hashlib.sha256(path.read_bytes()).hexdigest()
                for path in sorted(self.tables(self.survey).glob(pattern))}

    def sites_of(self, name="site_windows.csv"):
        return {row["site"] for row in support.table(self.tables(self.survey) / name)}


class WrongRows(RowsTest):
    def test_a_site_whose_row_is_wrong_goes_without_and_comes_back(self):
        self.run_program("run", self.survey, "--quiet", expect=None)
        before = self.content()
        self.spoil("sites.csv", "1.54,110.3", "99,110.3")  # K3
        told = self.run_program("check", self.survey, "--quiet", expect=1)
        said = " ".join(told.out.split())
        self.assertIn("wrong row", said)
        self.assertIn("sites.csv:4:", said)
        self.assertIn("its site K3 is left out", " ".join(self.run_program("check", self.survey, "--quiet", "--all",
                                                                         expect=1).out.split()))
        for command in ("measure", "tabulate", "report", "contrast"):
            told = self.run_program(command, self.survey, "--quiet", expect=1)
            self.assertIn("site K3 is left out: sites.csv:4:", told.err, command)
        self.assertIn("Left out of all of this, for their rows in the sheets are wrong: site K3; deployment DK3.",
                      " ".join(told.out.split()))
        self.assertEqual(self.sites_of(), set(SITES) - {"K3"})
        steps = [row for row in support.table(self.tables(self.survey) / "decisions_applied.csv")
                 if row["decision"] == "wrong_row"]
        self.assertEqual([row["subject"] for row in steps], ["K3", "DK3"])
        self.assertIn("sites.csv:4", steps[0]["reason"])
        states = {row["state"] for row in support.table(self.tables(self.survey) / "recordings.csv")
                  if row["deployment"] == "DK3"}
        self.assertEqual(states, {"wrong row"})
        self.assertIn("wrong row", (self.survey / "hearwood/report/index.html").read_text())
        # A run says it with its answer, and not at each stage.
        told = self.run_program("run", self.survey, "--quiet", expect=1)
        self.assertIn("Left out of all of this", told.out.split("== contrast ==")[1])
        self.assertEqual(told.err.count("K3 is left out"), 0)
        # What an archive gets is whole.
        told = self.run_program("deposit", self.survey, self.folder / "deposit", expect=2)
        self.assertIn("sites.csv:4:", told.err)
        self.assertFalse((self.folder / "deposit").exists())
        # Corrected, all is as it was.
        self.spoil("sites.csv", "99,110.3", "1.54,110.3")
        self.run_program("run", self.survey, "--quiet", expect=None)
        self.assertEqual(self.content(), before)

    def test_of_two_rows_that_contradict_each_other_neither_counts(self):
        self.run_program("measure", self.survey, "--quiet")
        self.spoil("deployments.csv", "\nDH2,", "\nDH1,")
        told = self.run_program("tabulate", self.survey, "--quiet", expect=1)
        self.assertEqual(told.err.count("deployment DH1 is left out: deployments.csv:7:1"), 2, told.err)
        self.assertEqual(self.sites_of("segments.csv"), set(SITES) - {"H1", "H2"})

    def test_decisions_about_what_is_left_out_wait(self):
        self.run_program("measure", self.survey, "--quiet")
        (self.survey / "decisions.csv").write_text(
            "decision,subject,value,reason\nleave_out,DK1,,chainsaws\nleave_out,K3,,rapids\n"
            "belongs_to,DH4,DK3,swapped\nkeep,H2,rain,a stream\n")
        self.spoil("sites.csv", "1.54,110.3", "99,110.3")  # K3, and with it DK3
        told = self.run_program("tabulate", self.survey, "--quiet", expect=1)
        self.assertIn("decisions.csv:3", told.err)
        self.assertIn("this decision waits", told.err)
        self.assertIn("deployment DH4 is left out: its recordings are, by decision, those of DK3", told.err)
        rows = support.table(self.tables(self.survey) / "segments.csv")
        self.assertEqual({row["site"] for row in rows}, set(SITES) - {"K3", "H4"})
        self.assertTrue(all("decision" in row["reasons"] for row in rows if row["site"] == "K1"))

    def test_what_is_not_one_row_stops_all(self):
        self.run_program("run", self.survey, "--quiet", expect=None)
        sites, deployments = ((self.survey / name).read_text() for name in ("sites.csv", "deployments.csv"))
        for sheet, old, new in (("survey.toml", "segment_s", "segmnt_s"), ("sites.csv", "latitude,", "latitud,"),
                                ("sites.csv", "K3,", '"K3,'), ("deployments.csv", "deployment,", "name,"),
                                ("decisions.csv", "", "decision,subject,reason\nleaf_out,K3,x\n")):
            texts = {path: path.read_text() for path in self.survey.glob("*.*")}
            if sheet == "decisions.csv":
                (self.survey / sheet).write_text(new)
            else:
                self.spoil(sheet, old, new)
            for command in ("check", "tabulate"):
                told = self.run_program(command, self.survey, "--quiet", expect=2)
                self.assertIn(sheet, told.err)
            for path in self.survey.glob("*.*"):
                path.write_text(texts[path]) if path in texts else path.unlink()
        # Nor does a class go missing by a slip.
        (self.survey / "sites.csv").write_text(sites.replace(",poor", ","))
        self.run_program("tabulate", self.survey, "--quiet", expect=2)
        (self.survey / "sites.csv").write_text(sites)
        (self.survey / "deployments.csv").write_text(deployments)
        self.run_program("tabulate", self.survey, "--quiet")


class Refusals(RowsTest):
    def refused(self, *, expect_package=True, command="contrast"):
        self.run_program(command, self.survey, "--quiet", expect=2)
        tables = self.tables(self.survey)
        self.assertFalse((tables / "contrasts.csv").exists())
        self.assertFalse((tables / "profile.csv").exists())
        self.assertTrue((tables / "segments.csv").exists())
        self.assertEqual((tables / "datapackage.json").exists(), expect_package)
        if expect_package:
            listed = [r["path"] for r in json.loads((tables / "datapackage.json").read_text())["resources"]]
            self.assertNotIn("contrasts.csv", listed)
            self.assertTrue(all((tables / path).exists() for path in listed))

    def test_whatever_refuses_a_contrast_takes_its_old_tables_away(self):
        self.run_program("run", self.survey, "--quiet", expect=None)
        self.assertTrue((self.tables(self.survey) / "contrasts.csv").exists())
        self.spoil("survey.toml", "segment_s = 2", "segment_s = 1")  # measured under other settings
        self.refused()
        self.spoil("survey.toml", "segment_s = 1", "segment_s = 2")
        self.run_program("contrast", self.survey, "--quiet")
        self.spoil("survey.toml", "time_zone", "tim_zone")  # no settings at all
        self.refused(expect_package=False)
        self.spoil("survey.toml", "tim_zone", "time_zone")
        self.run_program("run", self.survey, "--quiet", expect=None)
        self.spoil("sites.csv", "latitude", "latitud")  # the run that would contrast is refused
        self.refused(expect_package=False, command="run")
        self.spoil("sites.csv", "latitud", "latitude")
        self.run_program("run", self.survey, "--quiet", expect=None)
        (self.survey / "hearwood/survey.db").unlink()  # nothing is measured
        self.refused(expect_package=False)

    def test_a_decision_that_is_not_understood_changes_nothing(self):
        self.run_program("run", self.survey, "--quiet", expect=None)
        before = self.content("*")
        (self.survey / "decisions.csv").write_text("decision,subject,reason\nleaf_out,K3,x\n")
        for command in ("contrast", "run", "tabulate"):
            told = self.run_program(command, self.survey, "--quiet", expect=2)
            self.assertIn("did you mean 'leave_out'", told.err)
        self.assertEqual(self.content("*"), before)


class DeadMicrophones(support.SurveyTest):
    def setUp(self):
        super().setUp()
        self.survey = self.folder / "survey"
        write_survey(self.survey, [{"site": s, "nutrient_status": "rich" if s[0] == "K" else "poor"} for s in SITES],
                     rest=MEASURE, folders=False)
        for i, site in enumerate(SITES):
            card = self.folder / f"card-{site}"
            card.mkdir()
            for j in range(4):
                samples = noise(4, 10 * i + j) if site not in ("K2", "H3") else [0] * 4 * 24000
                (card / f"{site}_2031050{j + 4}_060000.wav").write_bytes(wav(samples))

    def test_their_silence_is_told_and_no_copy_of_it(self):
        for site in SITES:
            told = self.run_program("offload", self.folder / f"card-{site}", self.survey, "--deployment", f"D{site}",
                                    "--one-copy", "--quiet")
            self.assertNotIn("same content", told.out, site)
            self.assertEqual("dead-microphone" in told.out, site in ("K2", "H3"), told.out)
        self.tell("before measuring")
        self.run_program("measure", self.survey, "--quiet")
        self.tell("after it")
        self.run_program("tabulate", self.survey, "--quiet", expect=None)
        rows = support.table(self.tables(self.survey) / "recordings.csv")
        self.assertEqual({row["state"] for row in rows}, {"measured"})
        # The same file twice is a copy, whatever is in it.
        first = self.survey / "recordings/DK2/K2_20310504_060000.wav"
        (first.parent / "copy").mkdir()
        (first.parent / "copy" / first.name).write_bytes(first.read_bytes())
        self.run_program("measure", self.survey, "--quiet", "--hash", expect=None)
        told = self.run_program("check", self.survey, "--quiet", "--all", expect=1).out
        self.assertEqual(told.count("serious, duplicate"), 1, told)

    def tell(self, when):
        told = self.run_program("check", self.survey, "--quiet", "--all", expect=0).out
        for site in ("K2", "H3"):
            self.assertIn(f"dead-microphone, deployment D{site}", told, when)
        for code in ("duplicate", "same-sound", "missing-hours", "stopped"):
            self.assertNotIn(f"{code},", told, when)
        board = self.run_program("board", self.survey).out
        self.assertEqual(board.count("change microphone"), 2, board)


if __name__ == "__main__":
    unittest.main()
