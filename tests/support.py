"""What the Python tests share: checks that are all told, the program, sounds and surveys made by hand.

A script calls check() as often as it likes and ends with sys.exit(finish()). A check that fails is printed at once and the
script goes on; going_on() keeps an exception in one part from ending the others. Tests of unittest derive from SurveyTest.
"""
import atexit
import contextlib
import csv
import ctypes
import ctypes.util
import math
import os
import pathlib
import shutil
import struct
import subprocess
import sys
import tempfile
import traceback
import unittest
import wave

import numpy as np
import pandas as pd

SOURCE = pathlib.Path(__file__).resolve().parents[1]
BINARY = os.environ.get("HEARWOOD_BINARY", "hearwood")
sys.path += [str(SOURCE / "tests" / "bench"), str(SOURCE / "tests" / "picture")]  # reference.py and read_png.py

# ---- the system ------------------------------------------------------------------------------------------------------


def preloadable(library):
    """The path of a library for LD_PRELOAD, which takes a space or a colon for the end of a name (ld.so(8)): where it has one,
    that of a link to it in a temporary folder."""
    if not set(str(library)) & set(" :"):
        return str(library)
    folder = pathlib.Path(tempfile.mkdtemp(prefix="hearwood-preload-"))
    atexit.register(shutil.rmtree, folder, True)
    (folder / "library.so").symlink_to(pathlib.Path(library).resolve())
    return str(folder / "library.so")


# ---- checks ---------------------------------------------------------------------------------------------------------

checked, failures = 0, []


def check(good, what, seen=""):
    """Tells at once what is not as it should be, and goes on."""
    global checked
    checked += 1
    if not good:
        failures.append(what)
        print(f"FAILED {what}{': ' if seen != '' else ''}{seen}", flush=True)
    return bool(good)


def near(got, wanted, what, tolerance=1e-9):
    """Equal, both missing, or apart by no more than tolerance of the value (of 1 where that is smaller)."""
    good = got == wanted or (math.isnan(got) and math.isnan(wanted)) or abs(got - wanted) <= tolerance * max(1, abs(wanted))
    return check(good, f"{what}: {got} against {wanted}")


@contextlib.contextmanager
def going_on(part):
    """An exception in this part of a script is a failure of it; what comes after runs all the same."""
    try:
        yield
    except Exception:
        traceback.print_exc()
        check(False, f"{part} could not go on")


def finish():
    """The exit code of a script. One that checked nothing has failed."""
    print(f"{checked} checks, {len(failures)} failed")
    return 1 if failures or not checked else 0


# ---- the program ----------------------------------------------------------------------------------------------------


class Program:
    """run = Program(path); run("measure", folder) checks the exit code and returns the finished process."""

    def __init__(self, path):
        self.path = path

    def __call__(self, *words, code=0):
        """code: the exit code that is due; None where the test judges it."""
        done = subprocess.run([self.path, *map(str, words)], capture_output=True, text=True, timeout=300)
        if code is not None:
            check(done.returncode == code, f"{' '.join(map(str, words))}: exit code {done.returncode}, not {code}: "
                                           f"{done.stdout}{done.stderr}")
        return done


def table(path):
    """Rows of a CSV as dicts of text."""
    with open(path, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


# ---- sounds ---------------------------------------------------------------------------------------------------------


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


def write_wave(path, samples, rate):
    """16 bits: integers as they are, floats with full scale at 1; one column a channel."""
    samples = np.asarray(samples)
    if samples.dtype.kind == "f":
        samples = np.round(np.clip(samples, -1, 1) * 32767)
    path = pathlib.Path(path)
    path.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(path), "wb") as out:
        out.setparams((1 if samples.ndim == 1 else samples.shape[1], 2, rate, 0, "NONE", ""))
        out.writeframes(samples.astype("<i2").tobytes())


class _Info(ctypes.Structure):
    _fields_ = [("frames", ctypes.c_int64), ("rate", ctypes.c_int), ("channels", ctypes.c_int),
                ("format", ctypes.c_int), ("sections", ctypes.c_int), ("seekable", ctypes.c_int)]


_sndfile = ctypes.CDLL(ctypes.util.find_library("sndfile") or "libsndfile.so.1")
_sndfile.sf_open.restype = ctypes.c_void_p
_sndfile.sf_open.argtypes = [ctypes.c_char_p, ctypes.c_int, ctypes.POINTER(_Info)]
_sndfile.sf_readf_float.restype = ctypes.c_int64
_sndfile.sf_readf_float.argtypes = [ctypes.c_void_p, ctypes.c_void_p, ctypes.c_int64]
_sndfile.sf_writef_float.restype = ctypes.c_int64
_sndfile.sf_writef_float.argtypes = [ctypes.c_void_p, ctypes.c_void_p, ctypes.c_int64]
_sndfile.sf_close.argtypes = [ctypes.c_void_p]


def read_sound(path):
    """(frames, channels) as float64, and the rate: whatever libsndfile opens, by itself."""
    info = _Info()
    handle = _sndfile.sf_open(os.fsencode(path), 0x10, ctypes.byref(info))
    if not handle:
        raise OSError(f"{path}: cannot be opened as sound")
    data = np.zeros((info.frames, info.channels), np.float32)
    got = _sndfile.sf_readf_float(handle, data.ctypes.data, info.frames)
    _sndfile.sf_close(handle)
    return data[:got].astype(float), info.rate


# sndfile.h: SF_FORMAT_*.
FORMATS = {"wav": 0x010000, "aiff": 0x020000, "au": 0x030000, "w64": 0x0B0000, "flac": 0x170000, "caf": 0x180000, "ogg": 0x200000,
           "rf64": 0x220000, "mpeg": 0x230000}
CODINGS = {"pcm 16": 0x02, "pcm 24": 0x03, "pcm 32": 0x04, "float": 0x06, "double": 0x07, "vorbis": 0x60, "opus": 0x64, "alac 16": 0x70,
           "layer 3": 0x82}


def write_sound(path, x, rate, container, coding):
    """Full scale at 1, one column a channel, by libsndfile."""
    data = np.ascontiguousarray(np.atleast_2d(np.asarray(x, np.float32).T).T)
    info = _Info(0, rate, data.shape[1], FORMATS[container] | CODINGS[coding], 0, 0)
    handle = _sndfile.sf_open(os.fsencode(path), 0x20, ctypes.byref(info))
    if not handle:
        raise OSError(f"{path}: libsndfile writes no {coding} in {container}")
    written = _sndfile.sf_writef_float(handle, data.ctypes.data, len(data))
    _sndfile.sf_close(handle)
    assert written == len(data), path


# ---- surveys --------------------------------------------------------------------------------------------------------


def write_survey(folder, sites, deployments=None, stands="", rest="", title="Survey of a test",
                 folders=True):
    """The three sheets of a survey of rich and poor stands, and, with folders, those of its deployments.

    sites: a dict a site of its columns; `site` and `nutrient_status` at least. deployments: likewise, `deployment` and
    `site` at least; by default one a site, D and the site's name. stands: more lines of [stands]; rest: more tables.
    """
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "survey.toml").write_text(
        f'[survey]\ntitle = "{title}"\ntime_zone = "Asia/Kuching"\n[stands]\nfactor = "nutrient_status"\n'
        f'compare = ["rich", "poor"]\n{stands}\n{rest}\n', encoding="utf-8")
    sites = [{"latitude": f"{1.5 + i / 50:g}", "longitude": "110.3", **site} for i, site in enumerate(sites)]
    if deployments is None:
        deployments = [{"deployment": f"D{site['site']}", "site": site["site"]} for site in sites]
    deployments = [{"folder": f"recordings/{d['deployment']}", **d} for d in deployments]
    for name, first, rows in (("sites", "site", sites), ("deployments", "deployment", deployments)):
        with open(folder / f"{name}.csv", "w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, [first, *(column for column in rows[0] if column != first)], lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)
    for deployment in deployments if folders else ():
        (folder / deployment["folder"]).mkdir(parents=True, exist_ok=True)


TABLES = ["segments.csv", "site_hours.csv", "site_windows.csv", "hours.csv", "windows.csv", "recordings.csv",
          "coverage.csv", "decisions_applied.csv", "sites.csv", "deployments.csv", "datapackage.json"]

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
