#!/usr/bin/env python3
"""Checks an installation: measures the clips beside this file with the program, and compares every index and level
with indices.csv, which an independent implementation in double precision made. Needs nothing but Python.

    python3 sample-audio/check.py [PROGRAM]      default: hearwood

Allowed: 2e-4 relative, 1e-6 absolute near 0, 0.002 for standout, and missing exactly where missing is due.
Exit code: 0 when all agree, 1 when something differs, 2 when the program cannot be run.
"""
import csv
import pathlib
import shutil
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
# The codec leaves nothing above some 16 kHz but rounding; aci weighs all bins alike, so its range ends where the sound does.
SETTINGS = {"segment_s": 5, "step_s": 1, "range_hz": (200, 15000), "bands": {"insects": (4000, 12000), "frogs": (500, 3000)}}


def give_up(why):
    print(why, file=sys.stderr)
    sys.exit(2)


def clips():
    return sorted(HERE.glob("*/*.ogg"))


def make_survey(folder):
    """One site holds all clips, a minute apart; the result says which recording is which clip."""
    s = SETTINGS
    bands = "".join(f"{name} = {list(edges)}\n" for name, edges in s["bands"].items())
    (folder / "survey.toml").write_text(
        '[survey]\ntitle = "Sample sounds"\ntime_zone = "Asia/Kuching"\n\n'
        '[stands]\nfactor = "nutrient_status"\ncompare = ["rich", "poor"]\n\n'
        f'[measure]\nsegment_s = {s["segment_s"]}\nstep_s = {s["step_s"]}\nrange_hz = {list(s["range_hz"])}\n\n[bands]\n{bands}')
    # A survey has two sites a class; the other three have no recordings.
    (folder / "sites.csv").write_text("site,latitude,longitude,nutrient_status\n" + "".join(
        f"{site},{2 + i / 10:.1f},113.0,{stand}\n" for i, (site, stand) in enumerate(
            (("K1", "rich"), ("K2", "rich"), ("H1", "poor"), ("H2", "poor")))))
    (folder / "deployments.csv").write_text("deployment,site,folder\nsamples,K1,recordings/samples\n")
    recordings = folder / "recordings" / "samples"
    recordings.mkdir(parents=True)
    names = {}
    for number, clip in enumerate(clips()):
        name = f"K1_20310504_{5 + number // 60:02}{number % 60:02}00.ogg"
        shutil.copyfile(clip, recordings / name)
        names[f"recordings/samples/{name}"] = clip.relative_to(HERE).as_posix()
    return names


def measured(program, folder):
    """Rows of segments.csv by clip and segment."""
    names = make_survey(folder)
    for command in ("measure", "tabulate"):
        try:
            done = subprocess.run([program, command, folder, "--quiet"], capture_output=True, text=True)
        except OSError as error:
            give_up(f"{program} cannot be run: {error}")
        if done.returncode != 0:
            give_up(f"'{program} {command}' ended with exit code {done.returncode}:\n{done.stderr}")
    with open(folder / "hearwood" / "tables" / "segments.csv", newline="", encoding="utf-8") as file:
        return {(names[row["file"]], row["segment"]): row for row in csv.DictReader(file)}


def share_of_allowed(name, got, due):
    """How much of what is allowed the two differ by; above 1 is a fault."""
    if got == "" or due == "":
        return 0 if got == due else float("inf")
    allowed = 0.002 if name.startswith("standout") else max(2e-4 * abs(float(due)), 1e-6)
    return abs(float(got) - float(due)) / allowed


def main(program="hearwood"):
    with open(HERE / "indices.csv", newline="", encoding="utf-8") as file:
        due = list(csv.DictReader(file))
    with tempfile.TemporaryDirectory(prefix="hearwood-samples-") as folder:
        rows = measured(program, pathlib.Path(folder))
    faults, worst, values = [], (0, ""), 0
    for row in due:
        where = f"{row.pop('file')}, segment {row.pop('segment')}"
        got = rows.pop(tuple(where.split(", segment ")), None)
        if got is None:
            faults.append(f"{where}: not measured")
            continue
        for name, value in row.items():
            share = share_of_allowed(name, got.get(name, ""), value)
            worst, values = max(worst, (share, f"{name} of {where}")), values + 1
            if share > 1:
                faults.append(f"{where}, {name}: {got.get(name, 'no such column')}, not {value or 'missing'}")
    faults += [f"{clip}, segment {segment}: measured, but not in indices.csv" for clip, segment in rows]
    for fault in faults:
        print(fault)
    print(f"{len(due)} segments, {values} values: " + (f"{len(faults)} differ" if faults else "all agree") +
          f"; the largest difference is {worst[0]:.3f} of what is allowed ({worst[1]})")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:2]))
