#!/usr/bin/python3
"""What the page that measures makes of a recording by itself is what segments.csv and recordings.csv of a survey have, to the byte:
columns, numbers, dates, flags, reasons, states. The compiled page is held to them by measure_page_test.mjs.
    lone_check.py PROGRAM PRINT_LONE SAMPLES"""
import csv
import json
import pathlib
import shutil
import struct
import subprocess
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from support import check  # noqa: E402

program, print_lone, samples = support.Program(sys.argv[1]), sys.argv[2], pathlib.Path(sys.argv[3])
# What only a survey knows; a path of its own; and a start with the survey's offset behind it.
SURVEYED = {"site", "stand", "deployment", "start_utc", "window", "minutes_from_sunrise"}
OTHERWISE = {"file", "start_local"}

with tempfile.TemporaryDirectory() as temporary:
    survey = pathlib.Path(temporary, "survey")
    support.write_survey(survey, [{"site": f"S{i}", "nutrient_status": "rich" if i < 2 else "poor"} for i in range(4)])
    files = survey / "recordings" / "DS0"
    for i, clip in enumerate(sorted(samples.rglob("*.ogg"))[::4]):
        shutil.copy(clip, files / f"REC_20310504_05{i:02}00.ogg")
    for i, (rate, channels, seconds) in enumerate(((48000, 1, 130), (22050, 2, 61), (8000, 1, 70), (96000, 1, 5))):
        x = support.noise(seconds * channels, i, rate=rate, tone=0.2 * rate)
        (files / f"REC_20310504_06{i:02}00.wav").write_bytes(support.wav(x, rate=rate, channels=channels))
    # Damaged and hostile ones.
    (files / "REC_20310504_070000.wav").write_bytes(support.wav(support.noise(3, 1), data_size=0xFFFFFF00))  # 4 GB, it says
    (files / "REC_20310504_070100.wav").write_bytes(b"")
    (files / "REC_20310504_070200.wav").write_bytes(b"this is a letter, not a sound\n" * 50)
    (files / "REC_20310504_070300.wav").write_bytes(support.wav(support.noise(3, 2))[:44])
    (files / "REC_20310504_070400.wav").write_bytes(b"RIFF" + struct.pack("<I", 8) + b"WAVEfmt " + b"\xff" * 200)
    (files / "no time, it says.wav").write_bytes(support.wav(support.noise(3, 3)))
    program("measure", survey, "--quiet", code=1)
    program("tabulate", survey, "--quiet", code=None)
    tables = survey / "hearwood" / "tables"

    names = sorted(path.name for path in files.iterdir())
    done = subprocess.run([print_lone, *names], cwd=files, capture_output=True, text=True)
    check(done.returncode == 0, "print_lone fell over", done.stderr)
    ours = list(csv.DictReader(done.stdout.splitlines()))
    theirs = {(pathlib.Path(row["file"]).name, row["channel"], row["segment"]): row for row in support.table(tables / "segments.csv")}
    first = (tables / "segments.csv").read_text().splitlines()[0]
    check(done.stdout.splitlines()[0] == first, "the columns differ", done.stdout.splitlines()[0])
    timed = [row for row in ours if row["start_local"]]
    check(len(timed) == len(theirs) and len(timed) > 10, f"{len(timed)} rows, the program has {len(theirs)}")
    for row in timed:
        want = theirs.get((row["file"], row["channel"], row["segment"]))
        if not check(want, f"the program has no row {row['file']} {row['segment']}"):
            continue
        check(want["start_local"].startswith(row["start_local"]), f"{row['file']} starts", row["start_local"])
        for name, value in row.items():
            if name in SURVEYED or name.startswith("even_"):
                check(value == "", f"{row['file']} {name} is not known here", value)
            elif name not in OTHERWISE:
                check(value == want[name], f"{row['file']} segment {row['segment']} {name}: {value}", want[name])

    states = {pathlib.Path(row["file"]).name: row for row in support.table(tables / "recordings.csv")}
    told = [json.loads(line) for line in done.stderr.splitlines()]
    check(len(told) == len(states) == len(names), f"{len(told)} told, the program has {len(states)}")
    for facts in told:
        want = states[facts["name"]]
        check(facts["state"] == want["state"], f"{facts['name']} is {facts['state']}", want["state"])
        check(facts["reason"] in want["note"] and bool(facts["reason"]) == (want["state"] != "measured"),
              f"{facts['name']}: '{facts['reason']}'", want["note"])
sys.exit(support.finish())
