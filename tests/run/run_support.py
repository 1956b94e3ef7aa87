"""Surveys made in the test, and the real binary run on them."""
import os
import pathlib
import shutil
import struct
import subprocess
import sys
import tempfile
import unittest

import numpy as np
import pandas as pd

BINARY = os.environ.get("HEARWOOD_BINARY", "hearwood")
SOURCE = pathlib.Path(os.environ.get("HEARWOOD_SOURCE_DIR", pathlib.Path(__file__).parents[2]))
sys.path.insert(0, str(SOURCE / "tests" / "bench"))
import reference  # noqa: E402
import site_values  # noqa: E402

TABLES = ["segments.csv", "site_hours.csv", "site_windows.csv", "hours.csv", "windows.csv", "recordings.csv",
          "coverage.csv", "sites.csv", "deployments.csv", "datapackage.json"]

TOML = """[survey]
title = "Two by two"
time_zone = "Asia/Kuching"

[stands]
factor = "nutrient_status"
compare = ["rich", "poor"]

[measure]
segment_s = {segment_s}
step_s = {step_s}
{measure}
[bands]
insects = [4000, 8000]
"""
SITES = """site,latitude,longitude,nutrient_status
K1,2.01,113.01,rich
K2,2.05,113.02,rich
H1,2.10,113.03,poor
H2,2.15,113.04,poor
"""


def wav(samples, rate=24000, channels=1, data_size=None, sample_format=1, bits=16, tail=b""):
    """Bytes of a WAV. data_size overrides what the header promises."""
    body = samples if isinstance(samples, bytes) else np.asarray(samples, "<i2").tobytes()
    size = len(body) if data_size is None else data_size
    frame = channels * bits // 8
    header = b"RIFF" + struct.pack("<I", 36 + size) + b"WAVEfmt " + struct.pack(
        "<IHHIIHH", 16, sample_format, channels, rate, (rate * frame) & 0xFFFFFFFF, frame, bits)
    return header + b"data" + struct.pack("<I", size) + body + tail


def noise(seconds, seed, rate=24000, level=0.02, tone=0):
    random = np.random.default_rng(seed)
    x = random.normal(0, level, int(seconds * rate))
    if tone:
        x += 0.05 * np.sin(2 * np.pi * tone * np.arange(len(x)) / rate) * (random.random() + 0.5)
    return np.clip(np.round(x * 32768), -32768, 32767).astype("<i2")


class SurveyTest(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="hearwood-run-"))
        self.addCleanup(shutil.rmtree, self.folder, True)

    def sheets(self, folder=None, segment_s=2, step_s=1, deployments=None, toml="", measure="", sites=SITES):
        folder = folder or self.folder / "survey"
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "survey.toml").write_text(TOML.format(segment_s=segment_s, step_s=step_s,
                                                             measure=measure) + toml)
        (folder / "sites.csv").write_text(sites)
        if deployments is None:
            deployments = "deployment,site,folder\n" + "".join(
                f"D{s},{s},recordings/D{s}\n" for s in ("K1", "K2", "H1", "H2"))
        (folder / "deployments.csv").write_text(deployments)
        for site in ("K1", "K2", "H1", "H2"):
            (folder / "recordings" / f"D{site}").mkdir(parents=True, exist_ok=True)
        return folder

    def put(self, survey, site, stamp, content):
        path = survey / "recordings" / f"D{site}" / f"{site}_{stamp}.wav"
        path.write_bytes(content)
        return path

    def run_program(self, *arguments, expect=0, environment=None, under=()):
        """expect: the exit code; None where the test judges it. environment: on top of the test's own. under: a command
        that starts the program."""
        result = subprocess.run([*under, BINARY, *map(str, arguments)], capture_output=True, timeout=300,
                                env={**os.environ, **(environment or {})})
        result.out = result.stdout.decode("utf-8")
        result.err = result.stderr.decode("utf-8")
        if expect is not None:
            self.assertEqual(result.returncode, expect, f"{arguments}\n{result.out}\n{result.err}")
        return result

    @staticmethod
    def tables(survey):
        return survey / "hearwood" / "tables"

    def table(self, survey, name):
        return pd.read_csv(self.tables(survey) / name, keep_default_na=False, na_values={
            c: [""] for c in pd.read_csv(self.tables(survey) / name, nrows=0).columns})

    def assert_matches_reference(self, row, expected):
        """One row of segments.csv against the float64 reference: relative 2e-4, 1e-6 near 0; standout
        within 0.002 (its background is read from quantised levels)."""
        for name, value in expected.items():
            if name in ("channel", "segment", "samples", "duration_s", "complete"):
                continue
            got = row[name]
            with self.subTest(column=name, file=row["file"], segment=row["segment"]):
                if value is None or np.isnan(value):
                    self.assertTrue(pd.isna(got), f"{got} where nothing is due")
                    continue
                tolerance = 0.002 if name.startswith("standout") else max(2e-4 * abs(value), 1e-6)
                self.assertLessEqual(abs(got - value), tolerance, f"{got} against {value}")
