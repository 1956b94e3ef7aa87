"""Each decision is made and taken back: the tables are then byte for byte what they were. Bad rows change nothing."""
import hashlib
import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from support import noise, wav  # noqa: E402

HEADER = "date,decision,subject,from,to,value,reason,by\n"
DEPLOYMENTS = "deployment,site,folder,recorder,start,end,gain_db\n" + "".join(
    f"D{s},{s},recordings/D{s},R{i},2031-05-04 00:00,2031-05-07 00:00,{18 + i}\n"
    for i, s in enumerate(("K1", "K2", "H1", "H2")))


class Decisions(support.SurveyTest):
    def setUp(self):
        super().setUp()
        self.survey = self.sheets(deployments=DEPLOYMENTS,
                                  toml='\n[contrast]\nprimary = { index = "aci", window = "dawn" }\n')
        for i, site in enumerate(("K1", "K2", "H1", "H2")):
            for day in (4, 5):
                for hour in (5, 6):
                    self.put(self.survey, site, f"203105{day:02}_{hour:02}0000",
                             wav(noise(4, 100 * i + 10 * day + hour, rate=48000, tone=3000 + 500 * i), rate=48000))
        self.refresh()
        self.before = self.hashes()

    def decide(self, *rows):
        (self.survey / "decisions.csv").write_text(HEADER + "".join(row + "\n" for row in rows))

    def refresh(self):
        for command in ("measure", "tabulate"):
            self.run_program(command, self.survey, "--quiet")
        self.run_program("contrast", self.survey, "--quiet", expect=None)  # refused where rates are mixed

    def hashes(self):
        """Of every table; the data package says of decisions.csv itself whether it is there."""
        return {path.name: hashlib.sha256(path.read_bytes()).hexdigest()
                for path in sorted(self.tables(self.survey).iterdir()) if path.name != "datapackage.json"}

    def made_and_taken_back(self, row):
        """What the tables are with the decision; afterwards they are what they were."""
        self.decide(row)
        self.refresh()
        self.assertNotEqual(self.hashes(), self.before, row)
        tables = {name: self.table(self.survey, name) for name in ("segments.csv", "decisions_applied.csv")}
        applied = tables["decisions_applied.csv"]
        mine = applied[applied.automatic == 0]
        self.assertEqual(len(mine), 1)
        self.assertEqual(mine.iloc[0].reason, "because")
        self.assertGreater(mine.iloc[0].segments, 0, row)
        self.decide()
        self.refresh()
        self.assertEqual(self.hashes(), self.before, row)
        return tables["segments.csv"]

    def test_leave_out(self):
        site = self.made_and_taken_back("2031-06-01,leave_out,K1,,,,because,A")
        self.assertEqual(set(site[site.reasons == "decision"].site), {"K1"})
        self.assertTrue((site[site.site == "K1"].kept == 0).all())
        night = self.made_and_taken_back(",leave_out,DK2,2031-05-04 6:00,2031-05-05 05:00:02,,because,")
        out = night[night.reasons == "decision"]
        self.assertEqual(list(out.file + " " + out.segment.astype(str)),
                         ["recordings/DK2/K2_20310504_060000.wav 0", "recordings/DK2/K2_20310504_060000.wav 1",
                          "recordings/DK2/K2_20310505_050000.wav 0"])
        one = self.made_and_taken_back(",leave_out,recordings/DH1/H1_20310504_050000.wav,,,,because,")
        self.assertEqual(set(one[one.kept == 0].file), {"recordings/DH1/H1_20310504_050000.wav"})

    def test_clock(self):
        moved = self.made_and_taken_back(",clock,DK1,,,2031-05-04 05:30,because,")
        mine = moved[moved.deployment == "DK1"]
        self.assertEqual(mine.iloc[0].start_local, "2031-05-04T05:30:00+08:00")
        self.assertEqual(mine.iloc[-2].start_local, "2031-05-05T06:30:00+08:00")
        later = self.made_and_taken_back(",clock,DK1,K1_20310505_050000.wav,,2031-05-05 7:00,because,")
        mine = later[later.deployment == "DK1"]
        self.assertEqual(list(mine[mine.segment == 0].start_local.str[8:16]), ["04T05:00", "04T06:00", "05T07:00", "05T08:00"])

    def test_belongs_to(self):
        swapped = self.made_and_taken_back(",belongs_to,DK1,,,DH1,because,")
        self.assertEqual(set(swapped[swapped.deployment == "DK1"].site), {"H1"})

    def test_keep(self):
        self.toml = self.survey / "survey.toml"
        self.toml.write_text(self.toml.read_text() + "\n[screen]\ndead_excludes = true\ndead_dbfs = 0\n")
        self.refresh()
        self.before = self.hashes()
        kept = self.made_and_taken_back(",keep,H2,,,dead,because,")
        self.assertTrue((kept[kept.site == "H2"].kept == 1).all())
        self.assertTrue((kept[kept.site == "H1"].kept == 0).all())

    def test_sample_rate(self):
        lower = self.made_and_taken_back(",sample_rate,DK1,,,24000,because,")
        mine = lower[lower.deployment == "DK1"]
        self.assertEqual(len(mine), 8)
        self.assertTrue((mine.complete == 1).all())

    def test_robustness_repeats_the_contrast_without_each(self):
        self.decide(",leave_out,DK2,2031-05-04,2031-05-05,,because,", ",clock,DK1,,,2031-05-04 05:10,because,")
        self.run_program("robustness", self.survey, "--quiet")
        table = self.table(self.survey, "robustness.csv")
        self.assertEqual(list(table[table.choice == "without a decision"].variant),
                         ["leave_out DK2 from 2031-05-04 to 2031-05-05", "clock DK1: 2031-05-04 05:10"])

    def test_the_page_tells_every_decision_and_its_reason(self):
        self.decide(",leave_out,K1,2031-05-05,,,a chainsaw all day,")
        self.run_program("run", self.survey, "--quiet")
        page = (self.survey / "hearwood" / "report" / "index.html").read_text()
        self.assertIn("Decisions about the data: K1 was left out from 2031-05-05 (a chainsaw all day).", page)
        self.assertIn("a chainsaw all day", self.run_program("check", self.survey, "--quiet").out)

    def test_bad_rows_are_one_line_each_and_change_nothing(self):
        for row, words in ((",leaf_out,K1,,,,x,", "did you mean 'leave_out'?"),
                           (",leave_out,K11,,,,x,", "did you mean 'K1'?"),
                           (",leave_out,K1,,,,,", "a decision without a reason"),
                           (",leave_out,recordings/DK1/K1_20310504_05000.wav,,,,x,", "did you mean 'recordings/DK1/K1_20310504_050000.wav'?"),
                           (",keep,K1,,,rains,x,", "did you mean 'rain'?"),
                           (",belongs_to,DK1,,,DK5,x,", "did you mean 'DK"),
                           (",leave_out,K1,,,,x,\n,leave_out,DK1,,,,x,", "line 2 decides this already")):
            self.decide(row)
            result = self.run_program("tabulate", self.survey, "--quiet", expect=2)
            self.assertIn(words, result.err)
            self.assertEqual(len(result.err.strip().splitlines()), 1, result.err)
            self.assertEqual(self.hashes(), self.before)


if __name__ == "__main__":
    unittest.main()
