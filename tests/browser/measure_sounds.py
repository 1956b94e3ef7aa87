#!/usr/bin/python3
"""Sounds for the page that measures, and what the program makes of them.      measure_sounds.py PROGRAM SAMPLES FOLDER

FOLDER/good: real, made and the demo's sounds, in every format; FOLDER/bad: what no page may fall over; FOLDER/many: a thousand short ones;
FOLDER/long: 2 GB in one file. FOLDER/segments.csv and recordings.csv: the program's tables of the good and bad ones;
bounds.csv: by how much each value of the good ones may differ (tests/rounding.py)."""
import pathlib
import shutil
import struct
import subprocess
import sys

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import rounding  # noqa: E402
import support  # noqa: E402

program, samples, folder = support.Program(sys.argv[1]), pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
good, bad, many, long = (folder / name for name in ("good", "bad", "many", "long"))
for place in (good, bad, many, long):
    place.mkdir(parents=True)
number = 0


def stamp():
    """A start of its own for each: the names of the sample clips say nothing of it."""
    global number
    number += 1
    return f"REC_20310504_{number // 60:02}{number % 60:02}00"


def flac(x, rate, path):
    channels = 1 if x.ndim == 1 else x.shape[1]
    subprocess.run(["flac", "--silent", "--force-raw-format", "--endian=little", "--sign=signed", "--bps=16",
                    f"--channels={channels}", f"--sample-rate={rate}", "-o", path, "-"], input=x.astype("<i2").tobytes(), check=True)


def whole_numbers(x):
    return np.clip(np.round(x * 32768), -32768, 32767)


# Real sounds as they are (a lossy codec, floating point) and as FLAC (whole numbers); minutes of them one after another.
clips = sorted(samples.rglob("*.ogg")) + sorted(samples.rglob("*.flac")) + sorted(samples.rglob("*.wav"))
for i, clip in enumerate(clips):
    if i % 2:
        shutil.copy(clip, good / f"{stamp()}{clip.suffix}")
    else:
        x, rate = support.read_sound(clip)
        flac(whole_numbers(x), rate, good / f"{stamp()}.flac")
alike = [x[:, 0] for x, rate in map(support.read_sound, clips) if rate == 44100]
flac(whole_numbers(np.concatenate(alike)), 44100, good / f"{stamp()}.flac")
# Made ones, of other rates and channels.
for rate, channels, seconds in ((48000, 1, 130), (22050, 2, 61), (96000, 1, 62), (8000, 1, 70)):
    x = support.noise(seconds * channels, number, rate=rate, tone=0.2 * rate)
    (good / f"{stamp()}.wav").write_bytes(support.wav(x, rate=rate, channels=channels))
# Every container and coding that it says it reads, of one real sound with two channels that differ.
real = support.read_sound(next(clip for clip in clips if clip.suffix == ".ogg"))[0][:, 0]
both = np.column_stack([real, np.roll(real, 4321) * 0.7])
for ending, container, coding, rate, x in (
        ("aiff", "aiff", "pcm 16", 44100, both), ("aif", "aiff", "pcm 24", 44100, real), ("aifc", "aiff", "float", 44100, both),
        ("caf", "caf", "pcm 16", 44100, both), ("caf", "caf", "alac 16", 44100, real), ("caf", "caf", "float", 44100, real),
        ("au", "au", "pcm 16", 44100, both), ("w64", "w64", "pcm 16", 44100, both), ("rf64", "rf64", "pcm 24", 44100, real),
        ("wav", "wav", "pcm 32", 44100, real), ("wav", "wav", "double", 44100, real), ("flac", "flac", "pcm 24", 44100, both),
        ("ogg", "ogg", "vorbis", 44100, both), ("oga", "ogg", "vorbis", 22050, real), ("opus", "ogg", "opus", 48000, both),
        ("opus", "ogg", "opus", 24000, real), ("opus", "ogg", "opus", 8000, real), ("ogg", "ogg", "opus", 16000, both)):
    support.write_sound(good / f"{stamp()}.{ending}", x, rate, container, coding)
# The demo's, with what it holds that is broken; at most so many.
program("demo", folder / "demo", "--quiet")
demo = sorted(path for path in (folder / "demo" / "recordings").rglob("*") if path.is_file())
for path in demo[::max(1, len(demo) // 40)]:
    shutil.copy(path, good / path.name)

# Hostile ones.
whole = next(good.glob("*.flac")).read_bytes()
(bad / "REC_20310504_100000.flac").write_bytes(whole[:len(whole) // 2])
(bad / "REC_20310504_100100.wav").write_bytes(support.wav(support.noise(3, 1), data_size=0xFFFFFF00))  # 4 GB, it says
(bad / "REC_20310504_100200.wav").write_bytes(b"")
(bad / "REC_20310504_100300.wav").write_bytes(b"this is a letter, not a sound\n" * 50)
(bad / "REC_20310504_100400.wav").write_bytes(support.wav(support.noise(3, 2), channels=1, bits=16, rate=24000)[:44])
(bad / "REC_20310504_100500.wav").write_bytes(b"RIFF" + struct.pack("<I", 8) + b"WAVEfmt " + b"\xff" * 200)
(bad / "REC_20310504_100600.flac").write_bytes(whole[:200] + bytes(len(whole) - 200))  # a hole from the start on
(bad / "no time <b>here.wav").write_bytes(support.wav(support.noise(3, 3)))

survey = folder / "survey"
support.write_survey(survey, [{"site": f"S{i}", "nutrient_status": "rich" if i < 2 else "poor"} for i in range(4)])
for place, deployment in ((good, "DS0"), (bad, "DS1")):
    for file in place.iterdir():
        shutil.copy(file, survey / "recordings" / deployment / file.name)
program("measure", survey, "--quiet", code=1)  # some are bad, and listed
program("tabulate", survey, "--quiet", code=None)
for name in ("segments.csv", "recordings.csv"):
    shutil.copy(survey / "hearwood" / "tables" / name, folder / name)
# How near to these two roundings can be held.
rounding.write_bounds(program, sorted(good.iterdir()), folder / "draws", folder / "bounds.csv")

for i in range(1000):
    (many / f"REC_20310505_{i // 60:02}{i % 60:02}00.wav").write_bytes(support.wav(support.noise(0.1, i)))

# 2 GB at 96 kHz: just over three hours.
rate, minute = 96000, support.noise(60, 7, rate=96000, tone=4000).tobytes()
minutes = 2 * 1024**3 // len(minute) + 1
with open(long / "REC_20310506_000000.wav", "wb") as out:
    out.write(support.wav(b"", rate=rate, data_size=minutes * len(minute)))
    for _ in range(minutes):
        out.write(minute)
shutil.rmtree(folder / "demo")
shutil.rmtree(folder / "draws")
shutil.rmtree(survey)
sys.exit(1 if support.failures else 0)
