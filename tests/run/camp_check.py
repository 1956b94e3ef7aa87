"""A messy survey at camp, as a new user goes through it: six cards with a fault on most, the board, whose card this is,
a second visit, and the deposit at the end."""
import csv
import datetime
import hashlib
import json
import pathlib
import resource
import shutil
import sys
import unittest
import xml.etree.ElementTree as xml

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from support import noise, wav, write_survey  # noqa: E402

RATE = 24000
SITES = ("K1", "K2", "K3", "H1", "H2", "H3")
NIGHT = [f"{day} {hour:02}:30" for day in ("2031-05-04", "2031-05-05") for hour in (17, 19, 21, 23)]


class CampTest(support.SurveyTest):
    def setUp(self):
        super().setUp()
        self.survey = self.folder / "survey"
        self.write_sheets()

    def write_sheets(self, extra=()):
        sites = [{"site": s, "nutrient_status": "rich" if s[0] == "K" else "poor", "latitude": f"{1.51234 + i / 50:g}",
                  "longitude": f"{110.31234 + i / 50:g}", "sensitive": "yes" if s == "H1" else ""}
                 for i, s in enumerate(SITES)]
        deployments = [{"deployment": f"{s}-may", "site": s, "recorder": f"R{i:02}", "start": "2031-05-04 12:00",
                        "end": "2031-05-06 12:00", "hours": "17:00-00:00", "expected_minutes_per_hour": "",
                        "gain_db": "", "clock_error_start_s": 0, "clock_error_end_s": 0}
                       for i, s in enumerate(SITES)] + [*extra]
        write_survey(self.survey, sites, deployments, rest="[measure]\nsegment_s = 2\nstep_s = 1\n", folders=False)

    def card(self, site, starts=NIGHT, by_hours=0, level=0.02, recorder=None, seconds=4, tag="may"):
        card = self.folder / f"card-{site}-{tag}"
        card.mkdir()
        number = SITES.index(site)
        for i, start in enumerate(starts):
            when = datetime.datetime.fromisoformat(start) + datetime.timedelta(hours=by_hours)
            (card / f"{recorder or f'R{number:02}'}_{when:%Y%m%d_%H%M%S}.wav").write_bytes(
                wav(noise(seconds, 1000 * number + i + 100 * (tag == "sep"), level=level), rate=RATE))
        return card

    def offload(self, card, deployment, *options, expect=0):
        return self.run_program("offload", card, self.survey, "--deployment", deployment, "--one-copy", "--quiet",
                                *options, expect=expect)

    def board(self):
        out = self.run_program("board", self.survey).out
        return out, {line.split()[0]: line for line in out.splitlines() if "-" in line.split(" ")[0]}


class Board(CampTest):
    def test_the_board_from_cards_out_to_cards_wiped(self):
        out, lines = self.board()
        self.assertEqual(set(lines), {f"{s}-may" for s in SITES})
        self.assertTrue(all("offload its card" in line for line in lines.values()), out)
        told = self.offload(self.card("K1"), "K1-may")
        self.assertIn("K1-may", told.out.split("THIS CARD MAY BE WIPED")[0])
        _, lines = self.board()
        self.assertIn(" yes ", lines["K1-may"])
        self.assertIn(" ok ", lines["K1-may"])
        self.assertIn("offload its card", lines["K2-may"])
        self.run_program("board", self.survey, "--html")
        page = (self.survey / "hearwood/board.html").read_text()
        self.assertTrue(all(s in page for s in SITES))

    def test_a_card_that_is_not_proved_twice_wants_a_second_copy(self):
        self.run_program("offload", self.card("K1"), self.survey, "--deployment", "K1-may", "--quiet", expect=1)
        _, lines = self.board()
        self.assertIn(" no ", lines["K1-may"])
        self.assertIn("second copy", lines["K1-may"])

    def test_faults_are_told_when_the_card_comes_in_and_by_check_and_contrast(self):
        for site, how in (("K1", {}), ("K2", {}), ("H1", {}), ("H2", {"by_hours": 1}), ("H3", {"level": 0.25})):
            told = self.offload(self.card(site, **how), f"{site}-may")
            # The day between two nights is no gap of a night schedule.
            self.assertNotIn("gaps", told.out)
            self.assertNotIn("missing-hours", told.out)
            if site == "H2":
                self.assertIn("hours-off, deployment H2-may (site H2)", told.out)
                self.assertIn("value 2031-05-04 17:30:00", " ".join(told.out.split()))
                self.assertIn("1 hour ahead", " ".join(told.out.split()))
            elif site != "H3":
                self.assertNotIn("hours-off", told.out)
            if site == "H3":
                self.assertIn("other-gain, deployment H3-may (site H3)", told.out)
        told = self.offload(self.card("K3", level=0.000001), "K3-may", expect=None)
        self.assertIn("dead-microphone, deployment K3-may (site K3)", told.out)
        _, lines = self.board()
        self.assertIn("change microphone", lines["K3-may"])
        self.assertIn("set its clock", lines["H2-may"])
        self.assertIn("check its gain", lines["H3-may"])
        self.run_program("run", self.survey, "--quiet", expect=None)
        for command in ("check", "contrast"):
            told = " ".join(self.run_program(command, self.survey, "--quiet", "--all", expect=None).out.split())
            for words in ("K3-may", "H2-may", "H3-may", "dead", "clock seems to be 1 hour ahead"):
                self.assertIn(words, told, command)
        page = (self.survey / "hearwood/report/index.html").read_text()
        self.assertIn("clock seems to be 1 hour ahead", page)
        # Decided, the finding is settled.
        (self.survey / "decisions.csv").write_text(
            "date,decision,subject,from,to,value,reason,by\n"
            ",clock,H2-may,,,2031-05-04 17:30,set to the neighbour's zone,\n,leave_out,K3-may,,,,dead microphone,\n")
        told = self.run_program("check", self.survey, "--quiet", "--all", expect=None).out
        self.assertNotIn("hours-off", told)
        self.assertNotIn("dead-microphone", told)
        _, lines = self.board()
        self.assertIn("left out", lines["K3-may"])

    def test_whose_card_is_this(self):
        told = self.run_program("offload", self.card("K2"), self.survey, expect=2)
        self.assertIn("looks like the card of deployment K2-may (site K2)", told.err)
        self.assertIn("add --deployment K2-may", told.err)
        self.assertEqual(len(told.err.strip().splitlines()), 1)
        self.assertFalse((self.survey / "recordings").exists())
        told = self.run_program("offload", self.card("K3", recorder="REC"), self.survey, expect=2)
        self.assertIn("may be the card of", told.err)
        empty = self.folder / "empty"
        empty.mkdir()
        told = self.run_program("offload", empty, self.survey, expect=2)
        self.assertIn("no recordings in it", told.err)
        self.assertEqual(len(told.err.strip().splitlines()), 1)

    def test_a_wrong_row_stops_only_what_needs_it(self):
        sheet = self.survey / "deployments.csv"
        sheet.write_text(sheet.read_text().replace("R01,2031-05-04", "R01,2031-05-44"))
        self.assertIn("2031-05-44", sheet.read_text())
        (self.survey / "decisions.csv").write_text("decision,subject,reason\nleaf_out,K3,x\n")
        told = self.offload(self.card("K1"), "K1-may")
        self.assertIn("MAY BE WIPED", told.out)
        self.assertIn("deployments.csv:3", told.err)
        self.assertIn("decisions.csv:2", told.err)
        told = self.offload(self.card("K2"), "K2-may", expect=2)
        self.assertIn("deployments.csv:3", told.err)
        self.assertFalse((self.survey / "recordings/K2-may").exists())
        self.assertIn("K1-may", self.run_program("board", self.survey).out)
        self.run_program("check", self.survey, "--quiet", expect=2)

    def test_a_run_tells_nothing_twice_and_ends_with_the_answer(self):
        for site in SITES:
            self.offload(self.card(site), f"{site}-may")
        lines = self.run_program("run", self.survey, "--quiet", expect=None).out.splitlines()
        told = [line.strip() for line in lines if line.strip().startswith(("serious,", "doubt,", "note,"))]
        self.assertEqual([line for line in told if told.count(line) > 1], [])
        self.assertIn("See ", " ".join(lines[-4:]))
        self.assertIn("contrasts.csv", " ".join(lines[-4:]))

    def test_swapped_cards_are_told_and_put_right(self):
        for site in ("K1", "H1", "H2"):
            self.offload(self.card(site), f"{site}-may")
        one, other = self.card("K2"), self.card("K3")
        self.offload(one, "K3-may", "--force", expect=None)
        told = self.offload(other, "K2-may", "--force", expect=None).out
        self.assertIn("swapped, deployment K2-may (site K2)", told)
        self.assertIn("may be that of K3-may", " ".join(told.split()))
        (self.survey / "decisions.csv").write_text(
            "decision,subject,value,reason\nbelongs_to,K2-may,K3-may,swapped\nbelongs_to,K3-may,K2-may,swapped\n")
        self.assertNotIn("swapped,", self.run_program("board", self.survey).out)

    def test_a_second_visit_stands_apart(self):
        later = [{"deployment": f"{s}-sep", "site": s, "recorder": f"R{i:02}", "start": "2031-09-04 12:00",
                  "end": "2031-09-06 12:00", "hours": "17:00-00:00"} for i, s in enumerate(SITES)]
        self.write_sheets(later)
        for site in SITES:
            self.offload(self.card(site), f"{site}-may")
        out, _ = self.board()
        self.assertLess(out.index("Visit 2"), out.index("Visit 1"))
        self.assertLess(out.index("Visit 2"), out.index("K1-sep"))
        self.assertLess(out.index("K1-sep"), out.index("Visit 1"))
        self.offload(self.card("K1", starts=[s.replace("-05-", "-09-") for s in NIGHT], tag="sep"), "K1-sep")
        told = self.run_program("check", self.survey, "--quiet", expect=None).out
        self.assertLess(told.count("character per date"), 4)  # no empty months between the visits

    def test_the_board_of_200_deployments_takes_under_a_second(self):
        sites = [{"site": f"S{i:03}", "nutrient_status": "rich" if i % 2 else "poor"} for i in range(200)]
        write_survey(self.survey, sites, rest="[measure]\nsegment_s = 2\nstep_s = 1\n")
        sound = wav(noise(2, 1), rate=RATE)
        for i in range(200):
            folder = self.survey / "recordings" / f"DS{i:03}"
            for hour in range(4):
                (folder / f"20310504_{hour:02}0000.wav").write_bytes(sound)
        self.run_program("measure", self.survey, "--quiet", expect=None)
        # Of the processor, which other programs may be using as well.
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        self.run_program("board", self.survey)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        self.assertLess(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime, 1)


class Deposit(CampTest):
    def setUp(self):
        super().setUp()
        for site in SITES:
            self.offload(self.card(site), f"{site}-may")
        self.out = self.folder / "deposit"

    def deposit(self, *options, expect=0):
        return self.run_program("deposit", self.survey, self.out, "--quiet", *options, expect=expect)

    def test_a_deposit_is_whole_and_read_back(self):
        (self.survey / "decisions.csv").write_text(
            "decision,subject,reason\nleave_out,K1-may,a chainsaw all night\n")
        self.run_program("run", self.survey, "--quiet", expect=None)
        voice = next((self.survey / "recordings/K2-may").glob("*.wav"))
        self.run_program("forget", voice, "--from", "0", "--to", "1", "--reason", "voices")
        self.run_program("run", self.survey, "--quiet", expect=None)
        self.deposit("--recordings")
        readme = (self.out / "README.md").read_text()
        self.assertIn("a chainsaw all night", readme)
        self.assertIn("1 of 6 sites were rounded to 0.1 degrees", readme)
        # Sums, by sha256sum's own rule.
        for line in (self.out / "SHA256SUMS").read_text().splitlines():
            self.assertEqual(hashlib.sha256((self.out / line[66:]).read_bytes()).hexdigest(), line[:64])
        # The data package, by its specification (specs.frictionlessdata.io, version 1).
        package = json.loads((self.out / "datapackage.json").read_text())
        self.assertEqual(package["profile"], "tabular-data-package")
        self.assertIn("data/segments.csv", [r["path"] for r in package["resources"]])
        for resource in package["resources"]:
            with open(self.out / resource["path"], newline="", encoding="utf-8") as file:
                header = next(csv.reader(file))
            self.assertEqual(header, [field["name"] for field in resource["schema"]["fields"]], resource["path"])
            self.assertEqual((self.out / resource["path"]).stat().st_size, resource["bytes"])
        # Darwin Core and EML, by an XML parser.
        core = xml.parse(self.out / "meta.xml").getroot().find("{http://rs.tdwg.org/dwc/text/}core")
        with open(self.out / "event.csv", newline="") as file:
            rows = list(csv.DictReader(file))
        terms = [field.get("term").rsplit("/", 1)[1] for field in core.findall("{http://rs.tdwg.org/dwc/text/}field")]
        self.assertEqual(list(rows[0]), terms)
        self.assertEqual({row["eventID"] for row in rows}, {f"{s}-may" for s in SITES})
        self.assertEqual(rows[0]["eventDate"], "2031-05-04T12:00:00+08:00/2031-05-06T12:00:00+08:00")
        xml.parse(self.out / "eml.xml")
        # Coordinates: the sensitive site's nowhere as they are.
        exact = next(row for row in support.table(self.survey / "sites.csv") if row["site"] == "H1")
        for path in self.out.rglob("*"):
            if path.suffix in (".csv", ".json", ".xml", ".html", ".md", ".cff", ".toml"):
                text = path.read_text(errors="replace")
                self.assertNotIn(exact["latitude"], text, path)
                self.assertNotIn(exact["longitude"], text, path)
        self.assertEqual({row["locationID"]: row["decimalLatitude"] for row in rows}["H1"], "1.6")
        # Recordings: none with a voice, none left out.
        kept = {path.parent.name for path in (self.out / "recordings").rglob("*.wav")}
        self.assertEqual(kept, {f"{s}-may" for s in SITES} - {"K1-may"})
        self.assertFalse((self.out / voice.relative_to(self.survey)).exists())
        self.assertFalse(list(self.out.rglob("*.flac")))
        self.assertIn("all is as it was written", self.run_program("deposit", "--check", self.out).out)
        # What is not as it was written is found.
        (self.out / "data" / "hours.csv").write_text("spoilt\n")
        self.assertIn("data/hours.csv", self.run_program("deposit", "--check", self.out, expect=1).out)

    def test_a_deposit_is_refused_in_one_line(self):
        told = self.deposit(expect=2)
        self.assertIn("hearwood", told.err)
        self.run_program("run", self.survey, "--quiet", expect=None)
        self.out.mkdir()
        (self.out / "mine.txt").write_text("mine")
        told = self.deposit(expect=2)
        self.assertIn("the folder is not empty", told.err)
        self.assertEqual(len(told.err.strip().splitlines()), 1)
        self.assertEqual([path.name for path in self.out.iterdir()], ["mine.txt"])
        told = self.run_program("deposit", "--check", self.out, expect=2)
        self.assertIn("is no deposit", told.err)
        shutil.rmtree(self.out)

    def test_every_site_can_be_made_coarse(self):
        self.run_program("run", self.survey, "--quiet", expect=None)
        self.deposit("--coarsen", "0.5")
        with open(self.out / "data" / "sites.csv", newline="") as file:
            self.assertEqual({row["latitude"] for row in csv.DictReader(file)}, {"1.5"})
        self.assertFalse((self.out / "recordings").exists())


if __name__ == "__main__":
    unittest.main()
