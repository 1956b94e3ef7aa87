#!/usr/bin/python3
"""Sounds for the page that measures, and the program's own numbers of them.      measure_sounds.py PROGRAM SAMPLES FOLDER

FOLDER/good: real and made sounds; FOLDER/bad: what no page may fall over; FOLDER/many: a thousand short ones; FOLDER/expected.csv:
segments.csv of `hearwood measure` and `tabulate` on the good ones."""
import pathlib
import shutil
import struct
import subprocess
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402

program, samples, folder = support.Program(sys.argv[1]), pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
good, bad, many = folder / "good", folder / "bad", folder / "many"
for place in (good, bad, many):
    place.mkdir(parents=True)


def stamped(number):
    return f"REC_20310504_{number // 60:02}{number % 60:02}00"


# A survey needs a start for each: the names of the sample clips say nothing of it.
number = 0
for clip in sorted(samples.rglob("*.flac")) + sorted(samples.rglob("*.wav")):
    shutil.copy(clip, good / f"{stamped(number)}{clip.suffix}")
    number += 1
for rate, channels, seconds in ((48000, 1, 130), (22050, 2, 61), (96000, 1, 62), (8000, 1, 70)):
    x = support.noise(seconds * channels, number, rate=rate, tone=0.2 * rate)
    (good / f"{stamped(number)}.wav").write_bytes(support.wav(x, rate=rate, channels=channels))
    number += 1

survey = folder / "survey"
sites = [{"site": f"S{i}", "nutrient_status": "rich" if i < 2 else "poor"} for i in range(4)]
support.write_survey(survey, sites)
for file in good.iterdir():
    shutil.copy(file, survey / "recordings" / "DS0" / file.name)
program("measure", survey, "--quiet")
program("tabulate", survey, "--quiet", code=None)
shutil.copy(survey / "hearwood" / "tables" / "segments.csv", folder / "expected.csv")

# Hostile ones.
whole = next(samples.rglob("*.flac")).read_bytes()
(bad / "REC_20310504_100000.flac").write_bytes(whole[:len(whole) // 2])
(bad / "REC_20310504_100100.wav").write_bytes(support.wav(support.noise(3, 1), data_size=0xFFFFFF00))  # 4 GB, it says
(bad / "REC_20310504_100200.wav").write_bytes(b"")
(bad / "REC_20310504_100300.wav").write_bytes(b"this is a letter, not a sound\n" * 50)
(bad / "REC_20310504_100400.wav").write_bytes(support.wav(support.noise(3, 2), channels=1, bits=16, rate=24000)[:44])
(bad / "no time <b>here</b>.wav").write_bytes(support.wav(support.noise(3, 3)))
(bad / "REC_20310504_100500.wav").write_bytes(b"RIFF" + struct.pack("<I", 8) + b"WAVEfmt " + b"\xff" * 200)
for i in range(1000):
    (many / f"REC_20310505_{i // 60:02}{i % 60:02}00.wav").write_bytes(support.wav(support.noise(0.1, i)))
