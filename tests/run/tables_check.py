"""check, measure, tabulate and run on surveys of small WAVs: the tables recomputed from segments.csv with pandas,
the segments with the numpy reference, the sun with ephem."""
import filecmp
import json
import pathlib
import shutil
import subprocess
import sys
import unittest

import ephem
import numpy as np
import pandas as pd

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from support import TABLES, noise, wav  # noqa: E402
import reference  # noqa: E402
import site_values  # noqa: E402
import table_schema  # noqa: E402

STAMPS = ["20310504_053000", "20310504_055959", "20310504_235958", "20310505_000004", "20310505_053000",
          "20310505_181500"]


def plain_survey(test, **options):
    survey = test.sheets(**options)
    for number, site in enumerate(("K1", "K2", "H1", "H2")):
        for n, stamp in enumerate(STAMPS):
            seconds = 5 if n == 0 else 4  # the first ends with a short segment
            tone = 5000 if site.startswith("K") else 0
            test.put(survey, site, stamp, wav(noise(seconds, 100 * number + n, tone=tone)))
    return survey


def mean_over_sources(frame, keys, columns):
    """Kept, complete segments: each channel first, then the channels; with effort."""
    kept = frame[(frame.kept == 1) & (frame.complete == 1)]
    by_source = kept.groupby(keys + ["deployment", "channel"])[columns].mean()
    return by_source.groupby(level=list(range(len(keys)))).mean()


class Tables(support.SurveyTest):
    def test_run_makes_tables_that_can_be_recomputed(self):
        survey = plain_survey(self)
        result = self.run_program("run", survey, "--quiet")
        for name in TABLES + ["contrasts.csv", "profile.csv", "covariates.csv"]:
            self.assertTrue((self.tables(survey) / name).exists(), name)
        self.assertTrue((survey / "hearwood" / "report" / "index.html").exists())
        for stage in ("check", "measure", "tabulate", "contrast", "report"):
            self.assertIn(f"== {stage} ==", result.out)

        segments = self.table(survey, "segments.csv")
        self.assertEqual(len(segments), 4 * (3 + 5 * 2))
        self.assertEqual(list(segments[segments.complete == 0].reasons.unique()), ["short"])
        self.check_segments(survey, segments)
        self.check_averages(survey, segments)
        self.check_sun(segments)

    def check_segments(self, survey, segments):
        settings = reference.Settings(segment_s=2, step_s=1, bands=[("insects", 4000, 8000)])
        for file, rows in segments.groupby("file"):
            expected = list(reference.rows(survey / file, settings))
            self.assertEqual(len(rows), len(expected))
            for (_, row), want in zip(rows.iterrows(), expected):
                self.assert_matches_reference(row, want)

    def check_averages(self, survey, segments):
        first = segments.columns.get_loc("aci")
        # indices and levels; health of the signal is not averaged
        columns = list(segments.columns[first:segments.columns.get_loc("l90_dbfs") + 1])
        local = pd.to_datetime(segments.start_local.str.replace(r"[+-]\d\d:\d\d$", "", regex=True))
        middle = local + pd.to_timedelta(segments.duration_s / 2, unit="s")
        segments = segments.assign(date=middle.dt.strftime("%Y-%m-%d"), hour=middle.dt.hour)
        # A night belongs to the date of its evening.
        of_last_evening = (segments.window == "night") & (middle.dt.hour < 12)
        evening = middle.where(~of_last_evening, middle - pd.Timedelta(days=1))
        segments["window_date"] = evening.dt.strftime("%Y-%m-%d")

        for name, keys in (("site_hours.csv", ["site", "date", "hour"]),
                           ("site_windows.csv", ["site", "window_date", "window"])):
            got = self.table(survey, name).rename(columns={"date": keys[1]})
            want = mean_over_sources(segments, keys, columns)
            got = got.set_index(keys)
            self.assertEqual(set(got.index), set(want.index), name)
            np.testing.assert_allclose(got.loc[want.index, columns].astype(float), want.astype(float), rtol=1e-12,
                                       err_msg=name)
            complete = segments[segments.complete == 1].groupby(keys)
            self.assertTrue((got.possible == complete.size().loc[got.index]).all())
            self.assertTrue((got.kept == complete.kept.sum().loc[got.index]).all())

        wanted = site_values.from_tables(self.tables(survey), columns, offset_h=8)
        for name, part, want in (("windows.csv", "window", wanted[0]), ("hours.csv", "hour", wanted[1])):
            got = self.table(survey, name).set_index(["site", part])
            self.assertEqual(set(got.index[got.kept > 0]), set(want.index), name)
            want = want.reindex(got.index)
            # dc_offset is a difference of nearly equal sums: 1e-12 of full scale is its rounding.
            np.testing.assert_allclose(got[columns].astype(float), want[columns].astype(float), rtol=1e-9, atol=1e-12,
                                       err_msg=name)
            np.testing.assert_allclose(got.leans, want.leans, rtol=1e-9, err_msg=name)
            dates = self.table(survey, "site_" + name).groupby(["site", part]).size()
            self.assertTrue((got.dates == dates.loc[got.index]).all())
        got = self.table(survey, "windows.csv").set_index(["site", "window"]).cells
        self.assertTrue((got[got > 0] == wanted[0].cells.reindex(got[got > 0].index)).all())

    def check_sun(self, segments):
        """ephem (an implementation of its own, from VSOP) with NOAA's horizon of 90.833 degrees: within 10 s."""
        sites = {"K1": (2.01, 113.01), "K2": (2.05, 113.02), "H1": (2.10, 113.03), "H2": (2.15, 113.04)}
        for _, row in segments.drop_duplicates(["site", "start_utc"]).iterrows():
            observer = ephem.Observer()
            observer.lat, observer.lon = map(str, sites[row.site])
            observer.pressure, observer.horizon = 0, "-0:50"
            start = pd.Timestamp(row.start_utc).tz_localize(None)
            middle = start + pd.Timedelta(seconds=row.duration_s / 2)
            local_date = (middle + pd.Timedelta(hours=8)).normalize()
            observer.date = ephem.Date((local_date - pd.Timedelta(hours=8)).to_pydatetime())
            rise = observer.next_rising(ephem.Sun(), use_center=True).datetime()
            want = (middle - pd.Timestamp(rise)).total_seconds() / 60
            self.assertLess(abs(row.minutes_from_sunrise - want), 10 / 60)
            if -60 <= want < 120 and min(abs(want + 60), abs(want - 120)) > 1:
                self.assertEqual(row.window, "dawn")

    def test_bytes_do_not_depend_on_jobs_order_or_restarts(self):
        first = plain_survey(self)
        self.run_program("run", first, "--quiet", "--jobs", "1")
        second = self.folder / "again"
        # The same files measured in two goes, the later dates first, by three threads.
        shutil.copytree(first, second, ignore=shutil.ignore_patterns("hearwood"))
        late = self.folder / "late"
        late.mkdir()
        held = [p for p in sorted((second / "recordings").rglob("*_20310504_*"))]
        for path in held:
            path.rename(late / path.name)
        self.run_program("measure", second, "--quiet", "--jobs", "3")
        for path in held:
            (late / path.name).rename(path)
        self.run_program("run", second, "--quiet", "--jobs", "3")
        self.run_program("check", second, "--quiet")  # may not leave another coverage.csv
        names = sorted(p.name for p in self.tables(first).iterdir())
        self.assertEqual(names, sorted(p.name for p in self.tables(second).iterdir()))
        different = filecmp.cmpfiles(self.tables(first), self.tables(second), names, shallow=False)[1:]
        self.assertEqual(different, ([], []))

    def test_bytes_do_not_depend_on_locale_zone_or_order_of_files(self):
        first = plain_survey(self)
        second = self.folder / "elsewhere"
        shutil.copytree(first, second, ignore=shutil.ignore_patterns("*.wav"))
        files = sorted((first / "recordings").rglob("*.wav"))
        np.random.default_rng(7).shuffle(files)  # many file systems list in the order of making
        for path in files:
            shutil.copy2(path, second / path.relative_to(first))
        # A zone beyond the date line, with daylight saving; decimal commas.
        subprocess.run(["localedef", "-i", "de_DE", "-f", "UTF-8", str(self.folder / "de_DE.UTF-8")],
                       capture_output=True, check=True)
        for survey, surroundings in (
                (first, {"LC_ALL": "C", "TZ": "UTC"}),
                (second, {"LC_ALL": "de_DE.UTF-8", "LOCPATH": str(self.folder), "TZ": "Pacific/Auckland"})):
            for command in ("measure", "tabulate", "contrast", "check"):
                self.run_program(command, survey, "--quiet", environment=surroundings)
        names = sorted(p.name for p in self.tables(first).iterdir())
        self.assertIn("contrasts.csv", names)
        self.assertEqual(names, sorted(p.name for p in self.tables(second).iterdir()))
        for name in names:
            self.assertEqual((self.tables(first) / name).read_bytes(), (self.tables(second) / name).read_bytes(), name)

    def test_the_data_package_describes_what_is_there(self):
        survey = plain_survey(self)
        self.run_program("run", survey, "--quiet")
        package = json.loads((self.tables(survey) / "datapackage.json").read_text())
        described = {r["path"]: r for r in package["resources"]}
        self.assertEqual(table_schema.faults_of(self.tables(survey)), [])
        self.check_that_the_reader_of_schemas_finds_faults(self.tables(survey))
        on_disk = {p.name for p in self.tables(survey).glob("*.csv")}
        self.assertEqual(set(described), on_disk)
        readers = {"number": "float64", "integer": "Int64", "string": "string", "boolean": "Int64",
                   "date": "string", "datetime": "string"}
        frames = {}
        for path, resource in described.items():
            fields = resource["schema"]["fields"]
            frame = pd.read_csv(self.tables(survey) / path, keep_default_na=False, na_values=[""],
                                dtype={f["name"]: readers[f["type"]] for f in fields})
            self.assertEqual([f["name"] for f in fields], list(frame.columns), path)
            frames[resource["name"]] = frame
            for field in fields:
                self.assertTrue(field["description"], (path, field))
                self.assertNotEqual(field["description"], "as docs/tables.md describes it", (path, field))
                if field["type"] in ("date", "datetime"):
                    pd.to_datetime(frame[field["name"]].dropna(), utc=True)
            key = resource["schema"].get("primaryKey")
            if key:
                self.assertFalse(frame.duplicated([key] if isinstance(key, str) else key).any(), path)
        for resource in package["resources"]:
            for key in resource["schema"].get("foreignKeys", []):
                other = frames[key["reference"]["resource"]]
                values = frames[resource["name"]][key["fields"]].dropna()
                self.assertTrue(values.isin(set(other[key["reference"]["fields"]])).all(), (resource["name"], key))

    def check_that_the_reader_of_schemas_finds_faults(self, tables):
        spoilt = self.folder / "spoilt"
        for wanted, name, change in (
                ("no number", "contrasts.csv", lambda text: text.replace("-INF", "-inf") if "-INF" in text else text.replace("0.", "o.", 1)),
                ("is not in sites", "segments.csv", lambda text: text.replace("\nK1,", "\nK9,", 1)),
                ("two rows have the key", "segments.csv", lambda text: text + text.splitlines(True)[-1]),
                ("is required and missing", "segments.csv", lambda text: text.replace("\nK1,", "\n,", 1)),
                ("cells for", "hours.csv", lambda text: text + "K1\n")):
            shutil.copytree(tables, spoilt)
            before = (spoilt / name).read_text()
            (spoilt / name).write_text(change(before))
            found = table_schema.faults_of(spoilt)
            self.assertTrue(any(wanted in fault for fault in found), (wanted, found[:5]))
            self.assertTrue(any("its hash is another" in fault for fault in found), found[:5])
            shutil.rmtree(spoilt)

    def test_a_clock_that_runs_ahead_is_corrected_everywhere(self):
        deployments = ("deployment,site,folder,clock,start,end,clock_error_start_s,clock_error_end_s\n"
                       "DK1,K1,recordings/DK1,UTC,2031-05-04 00:00,2031-05-06 00:00,0,60\n"
                       + "".join(f"D{s},{s},recordings/D{s},,2031-05-04 00:00,2031-05-06 00:00,,\n"
                                 for s in ("K2", "H1", "H2")))
        survey = self.sheets(deployments=deployments)
        for site in ("K1", "K2", "H1", "H2"):
            # 16:00 UTC is local midnight, a day after the start of two days: half of the drift.
            stamp = "20310504_160030" if site == "K1" else "20310505_000000"
            self.put(survey, site, stamp, wav(noise(2, ord(site[0]))))
        result = self.run_program("check", survey, "--quiet")
        self.assertIn("1 of 4 deployments have both clock checks", result.out)
        self.run_program("measure", survey, "--quiet")
        self.run_program("tabulate", survey, "--quiet")
        recordings = self.table(survey, "recordings.csv").set_index("deployment")
        self.assertAlmostEqual(recordings.correction_s["DK1"], -30, delta=0.02)
        self.assertEqual(recordings.correction_s["DK2"], 0)
        start = pd.Timestamp(recordings.start["DK1"])
        self.assertLess(abs((start - pd.Timestamp("2031-05-05T00:00:00+08:00")).total_seconds()), 0.02)

    def test_calibrated_levels_have_twins_and_no_others_do(self):
        survey = plain_survey(self)
        self.run_program("measure", survey, "--quiet")
        self.run_program("tabulate", survey, "--quiet")
        for name in ("segments.csv", "hours.csv", "datapackage.json"):
            self.assertNotIn("dbspl", (self.tables(survey) / name).read_text())
        sheet = survey / "deployments.csv"
        sheet.write_text("deployment,site,folder,full_scale_db_spl\nDK1,K1,recordings/DK1,101.5\n"
                         "DK2,K2,recordings/DK2,\nDH1,H1,recordings/DH1,99\nDH2,H2,recordings/DH2,99\n")
        self.run_program("tabulate", survey, "--quiet")
        segments = self.table(survey, "segments.csv")
        levels = [c for c in segments.columns if c.endswith("_dbfs")]
        self.assertTrue({"leq_dbfs", "l10_dbfs", "l50_dbfs", "l90_dbfs", "power_insects_dbfs"} <= set(levels))
        for site, full_scale in (("K1", 101.5), ("H1", 99)):
            rows = segments[segments.site == site]
            for level in levels:
                np.testing.assert_allclose(rows[level.replace("_dbfs", "_dbspl")], rows[level] + full_scale)
        self.assertTrue(segments[segments.site == "K2"].leq_dbspl.isna().all())


class Refusals(support.SurveyTest):
    def test_bad_sheets_stop_everything_and_all_problems_are_told(self):
        survey = self.sheets(sites="site,latitude,longitude,nutrient_status\nK1,99,113,rich\nK1,2,x,poor\n")
        for command in ("check", "tabulate", "run"):
            result = self.run_program(command, survey, expect=2)
            self.assertIn("sites.csv:2", result.err)
            self.assertIn("sites.csv:3", result.err)
        self.assertFalse((survey / "hearwood").exists())

    def test_tabulate_before_measure_says_what_to_run(self):
        survey = plain_survey(self)
        result = self.run_program("tabulate", survey, expect=2)
        self.assertIn("hearwood measure", result.err)
        self.assertEqual(result.err.count("\n"), 1)

    def test_results_of_other_settings_are_not_tabulated(self):
        survey = plain_survey(self)
        self.run_program("measure", survey, "--quiet")
        self.sheets(segment_s=1)
        result = self.run_program("tabulate", survey, expect=2)
        self.assertIn("segment_s", result.err)
        self.assertIn("hearwood measure", result.err)
        self.assertFalse(self.tables(survey).exists())
        self.run_program("measure", survey, "--quiet")
        self.run_program("tabulate", survey, "--quiet")

    def test_unmeasured_recordings_are_told(self):
        survey = plain_survey(self)
        self.run_program("measure", survey, "--quiet")
        self.put(survey, "K1", "20310506_053000", wav(noise(4, 9)))
        self.run_program("check", survey, "--quiet")
        self.run_program("tabulate", survey, "--quiet")  # the store does not know of it yet
        self.assertNotIn("20310506", (self.tables(survey) / "recordings.csv").read_text())

    def test_mixed_sample_rates_are_told_and_not_contrasted(self):
        survey = self.sheets()
        for site, rate in (("K1", 24000), ("K2", 24000), ("H1", 24000), ("H2", 48000)):
            self.put(survey, site, "20310504_053000", wav(noise(4, 5, rate=rate), rate=rate))
        result = self.run_program("run", survey, "--quiet", expect=1)
        self.assertIn("24000 Hz at K1, K2, H1; 48000 Hz at H2", result.out + result.err)
        self.assertFalse((self.tables(survey) / "contrasts.csv").exists())


class Check(support.SurveyTest):
    def test_check_writes_coverage_and_nothing_else(self):
        survey = plain_survey(self)
        before = {p: p.stat().st_mtime_ns for p in survey.rglob("*") if p.is_file()}
        self.run_program("check", survey, "--quiet")
        self.assertEqual(before, {p: p.stat().st_mtime_ns for p in before})
        written = [p for p in survey.rglob("*") if p.is_file() and p not in before]
        self.assertEqual([p for p in written if p.suffix != ".lock"], [self.tables(survey) / "coverage.csv"])
        shutil.rmtree(survey / "hearwood")
        self.run_program("check", survey, "--quiet", "--dry-run")
        self.assertFalse((survey / "hearwood").exists())

    def test_check_finds_what_spoils_a_season(self):
        deployments = "deployment,site,folder,start,end,expected_minutes_per_hour\n" + "".join(
            f"D{s},{s},recordings/D{s},2031-05-04 00:00,2031-05-08 00:00,{0.1}\n" for s in ("K1", "K2", "H1", "H2"))
        survey = self.sheets(deployments=deployments, segment_s=2)
        minute = noise(6, 3)
        for site in ("K1", "K2", "H1"):
            for day in range(4, 8 if site != "H1" else 6):
                for hour in range(24):
                    self.put(survey, site, f"203105{day:02}_{hour:02}0000", wav(minute))
        self.put(survey, "K1", "20310505_120003", wav(noise(6, 4)))  # overlaps 12:00:00
        self.put(survey, "K2", "20000101_000000", wav(noise(6, 5)))  # a lost clock
        self.put(survey, "K2", "20310504_000030", wav(noise(6, 5, rate=12000), rate=12000))
        copy = survey / "recordings" / "DK2" / "copy"
        copy.mkdir()
        shutil.copy2(survey / "recordings" / "DK2" / "K2_20310504_050000.wav", copy)
        cut = survey / "recordings" / "DH1" / "H1_20310505_230000.wav"
        cut.write_bytes(cut.read_bytes()[:-1000])
        result = self.run_program("check", survey, "--quiet", expect=1)
        joined = " ".join(result.out.split())
        for words in ("overlap: Begins", "K2_20000101_000000.wav: clock reset", "12000 Hz, while most", "copy/K2_20310504_050000.wav: duplicate",
                      "H1_20310505_230000.wav: damaged: Truncated", "power-lost, deployment DH1 (site H1): Stopped on 2031-05-05 23:00",
                      "power was lost", "no-recordings, deployment DH2 (site H2): No recordings in recordings/DH2"):
            self.assertIn(words, joined)
        self.assertIn("DK1        ####", result.out)
        self.assertIn("DH1        ##..", result.out)
        coverage = self.table(survey, "coverage.csv")
        self.assertAlmostEqual(coverage[coverage.deployment == "DK1"].expected.sum(), 4 * 24 * 0.1, places=6)
        self.assertAlmostEqual(coverage[coverage.deployment == "DH1"].present.sum(), 2 * 24 * 0.1, delta=0.01)

    def test_a_site_that_is_nearly_always_flagged_is_a_question(self):
        # Thresholds that everything passes: wind fires on all segments, and excluding is switched on.
        survey = self.sheets(segment_s=4, toml="\n[screen]\nwind_excludes = true\nwind_rumble_db = -100\nwind_gust_db = 0\n")
        for number, site in enumerate(("K1", "K2", "H1", "H2")):
            for hour in range(22):
                self.put(survey, site, f"20310504_{hour:02}0000", wav(noise(4, 100 * number + hour)))
        self.run_program("measure", survey, "--quiet")
        result = self.run_program("tabulate", survey, "--quiet")
        segments = self.table(survey, "segments.csv")
        self.assertTrue(segments["flags"].str.contains("wind").all())
        self.assertTrue(segments["reasons"].isna().all())
        self.assertEqual(" ".join(result.out.split()).count("is it something that always sounds there"), 4)
        toml = survey / "survey.toml"
        toml.write_text(toml.read_text() + "often_share = 1\n")
        self.run_program("tabulate", survey, "--quiet")
        self.assertTrue(self.table(survey, "segments.csv")["reasons"].str.contains("wind").all())


if __name__ == "__main__":
    unittest.main()
