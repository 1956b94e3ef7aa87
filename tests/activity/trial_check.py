"""`hearwood trial`: plays of its own sound, rendered with known losses by numpy and put into recordings, are found again; what
cannot be found says why; and even terms take the path from them."""
import pathlib
import sys
import unittest

import numpy as np
import scipy.signal
from scipy.io import wavfile

sys.path.insert(0, str(pathlib.Path(__file__).parents[1]))
import support  # noqa: E402
from support import wav  # noqa: E402

BANDS = np.array([1000, 2000, 4000, 8000])
SITES = ("K1", "K2", "H1", "H2")
NONE = (0, 0, 0, 0)


def weakened(x, rate, loss_db):
    """Loss in dB at the bands, linear over log frequency, on above the last as below it; without phase."""
    f = np.fft.rfftfreq(len(x), 1 / rate)
    points, losses = [*BANDS, 16000], [*loss_db, 2 * loss_db[3] - loss_db[2]]
    db = np.interp(np.log(np.maximum(f, 1)), np.log(points), losses)
    return np.fft.irfft(np.fft.rfft(x) * 10 ** (-db / 20), len(x))


class Trial(support.SurveyTest):
    @classmethod
    def setUpClass(cls):
        cls.sounds = {}

    def sound(self, rate):
        if not self.sounds:
            path = self.folder / "trial.wav"
            self.run_program("trial", "--make", path)
            made, x = wavfile.read(path)
            self.assertEqual(made, 48000)
            self.assertAlmostEqual(len(x) / made, 31, delta=1)
            self.sounds[48000] = x / 32768
        if rate not in self.sounds:
            self.sounds[rate] = scipy.signal.resample_poly(self.sounds[48000], rate, 48000)
        return self.sounds[rate]

    def render(self, plays, rate, seconds, seed, noise=0.0003, calls=0):
        """plays: (second, metres, losses at the bands in dB). Amplitude 0.4 at 2 m."""
        rng = np.random.default_rng(seed)
        x = rng.normal(0, noise, int(seconds * rate))
        for _ in range(int(calls * seconds / 60)):
            t = np.arange(int(rate * rng.uniform(0.1, 0.4))) / rate
            at = rng.integers(0, len(x) - len(t))
            x[at:at + len(t)] += rng.uniform(0.01, 0.05) * np.sin(2 * np.pi * rng.uniform(1500, 7000) * t) * np.hanning(len(t))
        for second, metres, loss in plays:
            sound = weakened(self.sound(rate), rate, loss) * (0.5 * 2 / metres)
            at = int((second + metres / 340) * rate)
            x[at:at + len(sound)] += sound[:len(x) - at]
        return wav(np.clip(np.round(x * 32768), -32768, 32767).astype("<i2"), rate=rate)

    def trials(self, survey, rows, header="site,date,time,distance_m,notes"):
        (survey / "trials.csv").write_text("\n".join([header, *rows]) + "\n")

    def session(self, rate=24000, losses=NONE, far=NONE, noise=0.0003, minute=0, calls=0, seed=1):
        """A survey with one session at K1: 2 m at 10:01, 30 m at 10:03, 50 m at 10:05 by its clock, recorded from 10:00;
        calls: of animals besides, a minute."""
        survey = self.sheets(segment_s=60, step_s=5)
        plays = [(80, 2, NONE), (190, 30, losses), (305, 50, far)]
        self.put(survey, "K1", "20310504_100000", self.render(plays, rate, 400, seed, noise, calls))
        self.trials(survey, [f"K1,2031-05-04,10:{minute + m:02d},{d}," for m, d in ((1, 2), (3, 30), (5, 50))])
        self.run_program("measure", survey, "--quiet")
        return survey

    def losses(self, survey, code=0):
        self.out = self.run_program("trial", survey, "--quiet", expect=code).out
        return self.table(survey, "path_loss.csv").set_index(["distance_m", "band_hz"])

    def test_known_losses_are_recovered(self):
        """Within 1 dB: the loss is an average over an octave, in which the rendered one changes by up to 8 dB."""
        near, far = (2, 5, 11, 19), (4, 9, 15, 22)
        for rate in (24000, 48000):
            with self.subTest(rate=rate):
                table = self.losses(self.session(rate, near, far))
                for metres, due in ((2, NONE), (30, near), (50, far)):
                    got = table.loss_db.loc[metres].loc[BANDS].to_numpy()
                    print(rate, metres, np.round(got - due, 2))
                    self.assertLess(np.abs(got - due).max(), 1.0)
                self.assertTrue((table.chirps == 6).all())
                self.assertTrue(table.why.isna().all())
                # Peak -3 dBFS, halved: at 2 m 20 log10(0.7079 / 2) = -9.02 dB.
                self.assertLess(np.abs(table.received_dbfs.loc[2] + 9.02).max(), 0.3)
                self.assertTrue(table.found.loc[(30, 1000)].startswith("2031-05-04T10:03:10"))
                self.setUp()

    def test_what_drowns_is_missing_and_says_so(self):
        table = self.losses(self.session(losses=(0, 0, 30, 60), far=(70, 70, 70, 70), noise=0.003), 1)
        self.assertLess(abs(table.loss_db.loc[(30, 1000)]), 0.5)  # the loss begins above 2 kHz, in the next band
        self.assertTrue(np.isnan(table.loss_db.loc[(30, 8000)]))
        self.assertIn("drowned", table.why.loc[(30, 8000)])
        self.assertTrue(table.loss_db.loc[50].isna().all())
        self.assertTrue(table.why.loc[50].str.contains("not found within ten minutes").all())

    def test_a_wrong_time_is_searched_for_ten_minutes_around(self):
        table = self.losses(self.session(minute=6))
        self.assertLess(table.loss_db.abs().max(), 0.5)
        self.setUp()
        table = self.losses(self.session(minute=25), 1)
        self.assertTrue(table.loss_db.isna().all())
        self.assertTrue(table.why.str.contains("nothing was recorded|not found").all())

    def test_calls_do_not_pass_for_plays_where_the_time_is_wrong(self):
        """Right is what the rows hold in quiet: the plays begin at 10:01:20, 10:03:10 and 10:05:05 by the recorder."""
        for seed in range(1, 7):
            table = self.losses(self.session(minute=6, calls=20, seed=seed))
            found = [table.found.loc[(metres, 1000)][11:19] for metres in (2, 30, 50)]
            self.assertEqual(found, ["10:01:20", "10:03:10", "10:05:05"], f"seed {seed}")
            self.setUp()

    def test_it_is_kept_and_the_same_for_any_jobs(self):
        survey = self.session()
        first = self.losses(survey)
        before = (self.tables(survey) / "path_loss.csv").read_bytes()
        self.assertIn("nothing", self.run_program("trial", survey, "--dry-run").out)
        self.run_program("trial", survey, "--jobs", "2", "--quiet")
        self.assertEqual((self.tables(survey) / "path_loss.csv").read_bytes(), before)
        self.trials(survey, ["K1,2031-05-04,10:01,2,", "K1,2031-05-04,10:03,31,"])
        self.assertIn("2 plays", self.run_program("trial", survey, "--dry-run").out)
        again = self.losses(survey)
        self.assertAlmostEqual(again.loss_db.loc[(31, 2000)] - first.loss_db.loc[(30, 2000)], 20 * np.log10(30 / 31), delta=0.001)

    def test_bad_sheets_are_refused_line_by_line(self):
        survey = self.session()
        self.trials(survey, ["K9,2031-05-04,10:01,2,", "K1,4.5.31,10:01,2,", "K1,2031-05-04,noon,2,", "K1,2031-05-04,10:01,far,",
                             "K1,2031-05-04,10:01,9000,", ",2031-05-04,10:01,2,"])
        error = self.run_program("trial", survey, expect=2).err
        for line in range(2, 8):
            self.assertIn(f"trials.csv:{line}:", error)
        (survey / "trials.csv").unlink()
        self.assertIn("trials.csv", self.run_program("trial", survey, expect=2).err)
        self.assertIn("--make", self.run_program("trial", expect=2).err)
        self.trials(survey, ["K1,2031-05-04,10:03,30,"])  # no play at 2 m
        table = self.losses(survey, 1)
        self.assertTrue(table.why.str.contains("no play at 2 m").all())
        self.assertTrue(table.received_dbfs.notna().all())

    def stands(self, with_trials):
        """The same calls at K1 and H1, and at K2 and H2; those of H stand behind 8 to 20 dB. Noise is each recorder's own."""
        dense = (8, 10, 14, 20)
        survey = self.sheets(segment_s=30, step_s=5, toml='[contrast]\nprimary = { index = "aci", window = "dawn" }\n')
        rate = 24000
        for number, site in enumerate(SITES):
            rng, own = np.random.default_rng(50 + number % 2), np.random.default_rng(90 + number)
            x = np.zeros(60 * rate)
            t = np.arange(int(0.3 * rate)) / rate
            for start in np.arange(0.7, 59, 1.5):
                at = int(start * rate)
                x[at:at + len(t)] += np.exp(rng.uniform(np.log(0.0003), np.log(0.02))) * np.sin(2 * np.pi * (rng.uniform(1500, 7500) + 2500 * t) * t)
            x = (weakened(x, rate, dense) if site[0] == "H" else x) + own.normal(0, 0.0015, len(x))
            self.put(survey, site, "20310504_060000", wav(np.clip(np.round(x * 32768), -32768, 32767).astype("<i2")))
            self.put(survey, site, "20310504_120000", self.render(
                [(20, 2, NONE), (70, 30, dense if site[0] == "H" else NONE)], rate, 110, number))
        if with_trials:
            self.trials(survey, [f"{site},2031-05-04,12:0{m},{d}," for site in SITES for m, d in ((0, 2), (1, 30))])
        self.run_program("measure", survey, "--quiet")
        return survey

    def test_even_terms_take_the_path_from_the_trials(self):
        survey = self.stands(True)
        self.run_program("even", survey, "--quiet")
        words = " ".join(self.run_program("contrast", survey, "--quiet").out.split())
        self.assertIn("not separable from how far sound carries: see trial", words)
        before = self.table(survey, "windows.csv").set_index("site")
        before = before[before.window == "dawn"].even_events
        self.assertGreater(before[["K1", "K2"]].min(), 1.3 * before[["H1", "H2"]].max())
        self.run_program("trial", survey, "--quiet")
        self.run_program("tabulate", survey, "--quiet", expect=None)
        self.assertTrue(self.table(survey, "windows.csv").even_events.isna().all())  # all are old now
        out = self.run_program("even", survey, "--quiet").out
        self.assertIn("path measured", out)
        words = " ".join(self.run_program("contrast", survey, "--quiet").out.split())
        self.assertIn("path measured", words)
        self.assertNotIn("not separable", words)
        after = self.table(survey, "windows.csv").set_index("site")
        after = after[after.window == "dawn"].even_events
        print(before.to_dict(), after.to_dict())
        self.assertLess(abs(after[["K1", "K2"]].mean() - after[["H1", "H2"]].mean()), 0.15 * after.mean())

    def test_trials_at_some_sites_only_are_no_path(self):
        survey = self.stands(True)
        self.trials(survey, [f"{site},2031-05-04,12:0{m},{d}," for site in SITES[:3] for m, d in ((0, 2), (1, 30))])
        self.run_program("trial", survey, "--quiet")
        out = " ".join(self.run_program("even", survey, "--quiet").out.split())
        self.assertIn("not separable from how far sound carries: see trial", out)
        self.assertIn("no trial in every band at 30 m for H2", out)


if __name__ == "__main__":
    unittest.main()
