"""`hearwood events` and `hearwood even` on surveys of small WAVs: events against the float64 reference, what even keeps, measures
again and leaves alone, and that what it adds makes noises equal."""
import io
import pathlib
import shutil
import sqlite3
import sys
import unittest

import numpy as np
import pandas as pd
from scipy import signal

sys.path.insert(0, str(pathlib.Path(__file__).parents[1]))
sys.path.insert(0, str(pathlib.Path(__file__).parents[1] / "bench"))
import reference_events  # noqa: E402
import support  # noqa: E402
from support import wav  # noqa: E402

RATE = 24000
SITES = ("K1", "K2", "H1", "H2")
EVEN = ["even_aci", "even_ndsi", "even_bi", "even_standout", "even_events"]


def calls(seconds, seed, every=1.7, level=0.003, hz=3000, weakest=0.05):
    """Noise with a call of 0.3 s each so many seconds, of amplitudes from `weakest` to 0.05."""
    rng = np.random.default_rng(seed)
    x = rng.normal(0, level, int(seconds * RATE))
    t = np.arange(int(0.3 * RATE)) / RATE
    for start in np.arange(0.5, seconds - 0.5, every):
        at = int(start * RATE)
        x[at:at + len(t)] += np.exp(rng.uniform(np.log(weakest), np.log(0.05))) * np.sin(2 * np.pi * (hz + 1500 * t) * t)
    return np.clip(np.round(x * 32768), -32768, 32767).astype("<i2")


class Events(support.SurveyTest):
    def survey(self, levels=(0.003, 0.003, 0.003, 0.003), **options):
        survey = self.sheets(segment_s=20, step_s=5)
        for number, (site, level) in enumerate(zip(SITES, levels)):
            for n, stamp in enumerate(("20310504_060000", "20310505_060000")):
                self.put(survey, site, stamp, wav(calls(40, 10 * number + n, level=level, **options)))
        return survey

    def rows(self, survey, *options):
        return pd.read_csv(io.StringIO(self.run_program("events", survey, *options).out))

    def test_events_are_those_of_the_reference(self):
        survey = self.survey()
        self.run_program("measure", survey, "--quiet")
        rows = self.rows(survey)
        self.assertEqual(list(rows.columns[:9]), ["site", "deployment", "file", "segment", "start", "duration_s", "low_hz",
                                                  "high_hz", "peak_dbfs"])
        frame, width = 512 / RATE, RATE / 512
        for (file, segment), got in rows.groupby(["file", "segment"]):
            from scipy.io import wavfile
            x = wavfile.read(survey / file)[1] / 32768
            piece = x[segment * 20 * RATE:(segment + 1) * 20 * RATE]
            want = reference_events.events(piece, RATE)
            self.assertEqual(len(got), len(want))
            for (_, row), event in zip(got.iterrows(), want):
                stamp = pd.Timestamp(file.split("_", 1)[1].replace("_", "T").split(".")[0])
                begin = stamp + pd.Timedelta(seconds=20 * segment + event["start"] * frame)
                shown = pd.Timestamp(row.start[:-6])
                self.assertLess(abs((shown - begin).total_seconds()), 0.001)
                self.assertTrue(row.start.endswith("+08:00"))
                self.assertAlmostEqual(row.duration_s, event["duration"] * frame, places=9)
                self.assertAlmostEqual(row.low_hz, (event["low"] - 0.5) * width)
                self.assertAlmostEqual(row.high_hz, (event["high"] + 0.5) * width)
                self.assertAlmostEqual(row.peak_dbfs, event["peak_dbfs"], delta=0.0052)
        self.assertGreater(len(rows), 100)

    def test_events_can_be_chosen_by_site_date_and_band(self):
        survey = self.survey()
        self.run_program("measure", survey, "--quiet")
        every = self.rows(survey)
        one = self.rows(survey, "--site", "K2", "--from", "2031-05-05", "--to", "2031-05-05")
        expected = every[(every.site == "K2") & every.start.str.startswith("2031-05-05")]
        self.assertEqual(len(one), len(expected))
        self.assertGreater(len(one), 10)
        high = self.rows(survey, "--low", "3500")
        self.assertEqual(len(high), (every.high_hz > 3500).sum())
        low = self.rows(survey, "--high", "3200")
        self.assertEqual(len(low), (every.low_hz < 3200).sum())
        self.assertIn("did you mean 'K1'?", self.run_program("events", survey, "--site", "K9", expect=2).err)
        self.assertIn("--from", self.run_program("events", survey, "--from", "May", expect=2).err)

    def measured(self, survey, *options):
        self.run_program("measure", survey, "--quiet", *options)
        return self.run_program("even", survey, "--quiet", *options)

    def even_bytes(self, survey):
        with sqlite3.connect(survey / "hearwood" / "survey.db") as database:
            return database.execute("SELECT * FROM even ORDER BY segment_id").fetchall()

    def test_even_values_stand_in_the_tables_and_are_made_once(self):
        survey = self.survey((0.003, 0.003, 0.012, 0.012))
        first = self.measured(survey, "--jobs", "1")
        self.assertIn("16 measured now", first.out)
        before = self.even_bytes(survey)
        segments = self.table(survey, "segments.csv")
        self.assertTrue(segments[EVEN].notna().all().all())
        for name in ("windows.csv", "site_windows.csv", "hours.csv", "site_hours.csv"):
            self.assertTrue(set(EVEN) | {"choir_khz", "solo_events"} <= set(self.table(survey, name).columns), name)
        again = self.run_program("even", survey, "--quiet")
        self.assertIn("0 measured now", again.out)
        self.assertEqual(self.even_bytes(survey), before)
        # Equal bytes for any number of threads, made anew.
        other = self.folder / "other"
        shutil.copytree(survey, other, ignore=shutil.ignore_patterns("hearwood"))
        self.measured(other, "--jobs", "3")
        self.assertEqual(self.even_bytes(other), before)
        self.assertEqual((other / "hearwood/tables/even.csv").read_bytes(), (survey / "hearwood/tables/even.csv").read_bytes())

    def test_noise_makes_noises_equal(self):
        """H1 and H2 have 20 dB more noise: plain events are fewer there, on even terms all hear as little."""
        survey = self.survey((0.003, 0.003, 0.03, 0.03), weakest=0.001)
        self.measured(survey)
        windows = self.table(survey, "windows.csv").set_index("site")
        plain, even = windows.events, windows.even_events
        self.assertGreater(plain[["K1", "K2"]].min(), 1.3 * plain[["H1", "H2"]].max())
        self.assertLess(abs(even[["K1", "K2"]].mean() - even[["H1", "H2"]].mean()), 6)
        table = self.table(survey, "even.csv")
        inside = table[(table.low_hz >= 1000) & (table.low_hz < 10000)]
        self.assertTrue(inside.set_by.isin(["H1", "H2"]).all())
        # By hand: white noise of deviation s has E = 6 s^2 / N; 10 log10(6 * 0.03^2 / 512) = -49.8 dB.
        self.assertLess(abs(inside.floor_dbfs.median() + 49.8), 0.6)
        self.assertLess(abs(inside[inside.site == "K1"].noise_dbfs.median() + 49.8), 0.7)

    def test_values_of_other_terms_are_old(self):
        survey = self.survey()
        self.measured(survey)
        before = dict((row[0], row[1:]) for row in self.even_bytes(survey))
        text = (survey / "survey.toml").read_text()
        (survey / "survey.toml").write_text(text + "\n[contrast]\nseed = 9\n")
        self.run_program("tabulate", survey, "--quiet", expect=None)
        self.assertTrue(self.table(survey, "segments.csv")[EVEN].isna().all().all())
        out = self.run_program("even", survey, "--quiet", "--dry-run").out
        self.assertIn("would measure 16 of 16 segments", out)
        self.run_program("even", survey, "--quiet")
        (survey / "survey.toml").write_text(text)
        self.run_program("even", survey, "--quiet")
        self.assertEqual(dict((row[0], row[1:]) for row in self.even_bytes(survey)), before)

    def test_a_deafening_site_is_named_and_sets_nothing(self):
        survey = self.survey((0.003, 0.003, 0.003, 0.1))
        out = self.measured(survey).out
        self.assertIn("too loud to compare", " ".join(out.split()))
        segments = self.table(survey, "segments.csv")
        self.assertTrue(segments[segments.site == "H2"][EVEN].isna().all().all())
        self.assertTrue(segments[segments.site != "H2"][EVEN].notna().all().all())
        # A decision leaves it in, and all are heard through its noise; taken back, all is as before.
        before = (self.tables(survey) / "even.csv").read_bytes()
        (survey / "decisions.csv").write_text("date,decision,subject,from,to,value,reason,by\n"
                                              "2031-06-01,keep,H2,,,too_loud,we want it,A\n")
        out = self.measured(survey).out
        self.assertNotIn("too loud", " ".join(out.split()))
        self.assertTrue(self.table(survey, "segments.csv")[EVEN].notna().all().all())
        self.assertTrue((self.table(survey, "even.csv").query("1000 <= low_hz < 10000").set_by == "H2").all())
        self.assertIn("H2 was compared on even terms however loud it was", " ".join(self.run_program("check", survey).out.split()))
        (survey / "decisions.csv").unlink()
        self.measured(survey)
        self.assertEqual((self.tables(survey) / "even.csv").read_bytes(), before)

    def test_where_no_site_is_left_to_compare_it_says_so(self):
        survey = self.survey((0.001, 0.001, 0.1, 0.1))
        out = " ".join(self.measured(survey).out.split())
        self.assertIn("too loud to compare, and without even values there: H1, H2", out)
        self.assertIn("no site of poor is left to compare", out)
        self.setUp()
        survey = self.sheets(segment_s=20, step_s=5)
        for number, (site, kind) in enumerate(zip(SITES, ("low", "low", "high", "high"))):  # half the bands lie far above all others
            steep = signal.butter(8, 6000, kind, fs=RATE, output="sos")
            loud = signal.sosfilt(steep, np.random.default_rng(number).normal(0, 0.05, 40 * RATE)) + calls(40, number, level=0.0003) / 32768
            self.put(survey, site, "20310504_060000", wav(np.round(loud * 32768).astype("<i2")))
        out = " ".join(self.measured(survey).out.split())
        self.assertIn("no site is left to compare", out)
        self.assertNotIn("0 sites heard", out)

    def test_what_cannot_be_compared_is_refused_with_its_reason(self):
        survey = self.sheets(segment_s=20, step_s=5)
        for number, site in enumerate(SITES):
            rate = RATE if number else 2 * RATE
            self.put(survey, site, "20310504_060000", wav(calls(40, number), rate=rate))
        self.run_program("measure", survey, "--quiet")
        error = self.run_program("even", survey, "--quiet", expect=2).err
        self.assertIn("different sample rates", error)

    def test_a_deployment_measured_at_a_decided_rate_is_heard_at_it(self):
        """The same sound, at K1 recorded at twice the rate and measured at the others' by a decision: within what the
        resampling's filter changes the values are those of the survey in which all have one rate. (bi hangs on its lowest
        bin, which a half decibel of the floor moves.)"""
        values = {}
        for name in ("alike", "decided"):
            survey = self.sheets(self.folder / name, segment_s=20, step_s=5)
            for number, site in enumerate(SITES):
                x = calls(40, number)
                if name == "decided" and site == "K1":
                    x = wav(np.clip(np.round(signal.resample_poly(x.astype(float), 2, 1)), -32768, 32767).astype("<i2"), rate=2 * RATE)
                else:
                    x = wav(x)
                self.put(survey, site, "20310504_060000", x)
            if name == "decided":
                (survey / "decisions.csv").write_text("date,decision,subject,from,to,value,reason,by\n"
                                                      f"2031-06-01,sample_rate,DK1,,,{RATE},others have it,A\n")
            self.measured(survey)
            values[name] = self.table(survey, "windows.csv").set_index("site")
        for index in ("even_aci", "even_ndsi", "even_events"):
            for site in SITES:
                alike, decided = values["alike"][index][site], values["decided"][index][site]
                self.assertLess(abs(decided - alike), 0.05 * max(1, abs(alike)), f"{index} {site}: {decided}, {alike}")

    def test_a_recording_that_is_gone_is_named(self):
        survey = self.survey()
        self.run_program("measure", survey, "--quiet")
        (survey / "recordings/DK1/K1_20310504_060000.wav").unlink()
        out = " ".join(self.run_program("even", survey, "--quiet", expect=1).out.split())
        self.assertIn("2 segments could not be read again as when measured, the first in recordings/DK1/K1_20310504_060000.wav, "
                      "and have no even values.", out)

    def test_sites_that_are_too_loud_are_not_counted_as_heard(self):
        survey = self.survey((0.003, 0.003, 0.003, 0.1))
        self.assertIn("dawn: 3 sites heard through the noise of", " ".join(self.measured(survey).out.split()))

    def test_parts_are_the_whole(self):
        survey = self.survey()
        self.run_program("measure", survey, "--quiet")
        other = self.folder / "other"
        shutil.copytree(survey, other)
        self.run_program("even", survey, "--quiet")
        counts = []
        for part in ("2/3", "1/3"):
            out = self.run_program("even", other, "--quiet", f"--part={part}").out
            counts.append(int(out.split(" on even terms, ")[1].split(" measured")[0]))
        self.assertEqual(self.even_bytes(other), [])
        error = self.run_program("gather", other, expect=2).err
        self.assertIn("of 3 parts these are missing: 3", error)
        out = self.run_program("even", other, "--quiet", "--part=3/3").out
        counts.append(int(out.split(" on even terms, ")[1].split(" measured")[0]))
        self.assertEqual(sum(counts), 16)
        self.assertLessEqual(max(counts) - min(counts), 2)  # a recording has two segments
        self.assertIn("0 measured now", self.run_program("even", other, "--quiet", "--part=3/3").out)
        self.assertIn("3 parts of even terms: 16 segments", " ".join(self.run_program("gather", other).out.split()))
        self.assertEqual(self.even_bytes(other), self.even_bytes(survey))
        self.assertIn("0 measured now", self.run_program("even", other, "--quiet").out)
        for name in ("windows.csv", "even.csv"):
            self.assertEqual((self.tables(other) / name).read_bytes(), (self.tables(survey) / name).read_bytes(), name)

    def test_a_choir_leaves_the_solo_events(self):
        survey = self.sheets(segment_s=20, step_s=5)
        for number, site in enumerate(SITES):
            x = calls(40, number, every=7).astype(float)  # in 3 of 20 seconds: no choir
            if site.startswith("K"):  # 0.3 s each second at 6 kHz: a choir
                x += calls(40, 50 + number, every=1.0, hz=6000, level=0)
            self.put(survey, site, "20310504_060000", wav(np.clip(x, -32768, 32767).astype("<i2")))
        self.measured(survey)
        windows = self.table(survey, "windows.csv").set_index("site")
        self.assertTrue((windows.choir_khz[["K1", "K2"]] > 0.4).all())
        self.assertTrue((windows.choir_khz[["H1", "H2"]] == 0).all())
        self.assertTrue((windows.events[["K1", "K2"]] > 2 * windows.events[["H1", "H2"]].max()).all())
        self.assertLess(abs(windows.solo_events[["K1", "K2"]].mean() - windows.solo_events[["H1", "H2"]].mean()), 4)
        self.assertLess(abs(windows.even_events[["K1", "K2"]].mean() - windows.even_events[["H1", "H2"]].mean()), 4)

    def primary(self, survey):
        table = self.table(survey, "contrasts.csv")
        return table[(table["index"] == "even_events") & (table["window"] == "dawn")].iloc[0]

    def robustness(self, survey, *options):
        self.run_program("robustness", survey, "--quiet", *options)
        tables = self.tables(survey)
        return [(tables / name).read_bytes() for name in ("robustness.csv", "robustness_grid.csv")]

    def test_robustness_varies_noise_and_choirs_of_an_index_on_even_terms(self):
        survey = self.sheets(segment_s=20, step_s=5, toml='\n[contrast]\nprimary = { index = "even_events", window = "dawn" }\n')
        for number, (site, level) in enumerate(zip(SITES, (0.003, 0.003, 0.006, 0.006))):
            for n, stamp in enumerate(("20310504_060000", "20310505_060000")):
                # Strong and weak calls at four pitches, each in 5 or 3 of 40 seconds: no choirs.
                every = 8 if site.startswith("K") else 16
                x = sum(calls(40, 100 * number + 10 * n + k, level=level / 2, every=every, hz=hz, weakest=0.001).astype(float)
                        for k, hz in enumerate((1500, 2600, 3700, 4800)))
                if site == "K1":  # calls in 10 of 40 seconds: a choir at a share of 0.2, none at 0.25
                    x += calls(40, 90 + n, every=4, hz=6500, level=0)
                self.put(survey, site, stamp, wav(np.clip(x, -32768, 32767).astype("<i2")))
        self.measured(survey)
        self.run_program("contrast", survey, "--quiet")
        before = self.robustness(survey, "--jobs", "1")
        rows = self.table(survey, "robustness.csv").set_index(["choice", "variant"])
        primary = self.primary(survey)
        declared = rows.xs("as declared").iloc[0]
        for column in ("difference", "p", "ci_low", "ci_high"):
            self.assertAlmostEqual(declared[column], primary[column], places=9, msg=column)
        # Ever fewer events stand out of ever more noise, and so the classes come nearer.
        grid = self.table(survey, "robustness_grid.csv")
        self.assertEqual(set(grid.noise), {"as the loudest", "3 dB above", "6 dB above"})
        differences = [abs(declared.difference), *(abs(rows.loc[("noise", level)].difference) for level in ("3 dB above", "6 dB above"))]
        self.assertEqual(differences, sorted(differences, reverse=True))
        self.assertEqual(len(set(differences)), 3)
        self.assertGreater(differences[2], 0)
        # Another share of a choir gives what the survey gives that declares it.
        self.assertNotEqual(rows.loc[("choir share", "0.2")].difference, declared.difference)
        other = self.folder / "other"
        shutil.copytree(survey, other)
        (other / "survey.toml").write_text((other / "survey.toml").read_text() + "\n[activity]\nchoir_share = 0.2\n")
        self.run_program("tabulate", other, "--quiet", expect=None)
        self.run_program("even", other, "--quiet")
        self.run_program("contrast", other, "--quiet")
        self.assertAlmostEqual(rows.loc[("choir share", "0.2")].difference, self.primary(other).difference, places=9)
        # Equal bytes for any number of threads, and nothing is read that is not old.
        (survey / "hearwood" / "robustness.db").unlink()
        self.assertEqual(self.robustness(survey, "--jobs", "3"), before)
        (survey / "recordings").rename(self.folder / "away")
        self.assertEqual(self.robustness(survey), before)


if __name__ == "__main__":
    unittest.main()
