#!/usr/bin/python3
"""The release file reads MP3 as the program with the machine's own libraries does.      mp3_check.py PROGRAM OTHER"""
import pathlib
import shutil
import sys
import tempfile

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402

RATE, SECONDS = 44100, 65

tables = []
with tempfile.TemporaryDirectory() as scratch:
    sound = pathlib.Path(scratch) / "REC_20310504_100000.mp3"
    support.write_sound(sound, np.random.default_rng(1).uniform(-0.1, 0.1, RATE * SECONDS), RATE, "mpeg", "layer 3")
    for name, program in zip(("one", "other"), sys.argv[1:]):
        survey, run = pathlib.Path(scratch) / name, support.Program(program)
        support.write_survey(survey, [{"site": f"S{i}", "nutrient_status": "rich" if i < 2 else "poor"} for i in range(4)])
        shutil.copy(sound, survey / "recordings" / "DS0")
        run("measure", survey, "--quiet")
        run("tabulate", survey, "--quiet")
        tables.append((survey / "hearwood" / "tables" / "segments.csv").read_bytes())
lines = tables[0].count(b"\n") - 1
if support.failures or tables[0] != tables[1] or lines != 2:
    sys.exit(f"MP3: {lines} segments, {'not ' if tables[0] != tables[1] else ''}those of {sys.argv[2]}")
print(f"MP3: {lines} segments are those of {sys.argv[2]}, byte for byte")
