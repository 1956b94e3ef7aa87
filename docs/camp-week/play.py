"""Plays the week of docs/camp-week.md with the program and writes what it prints into the page's boxes.

    /usr/bin/python3 docs/camp-week/play.py build/hearwood

A box is the fenced block below a line <!-- NAME -->. What changes from machine to machine is put to the story: folders,
disks, and the date on which copies were read back.
"""
import csv
import datetime
import os
import pathlib
import re
import subprocess
import sys
import tempfile

import numpy as np

SOURCE = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(SOURCE / "tests"))
from support import wav  # noqa: E402

RATE = 16000
SITES = ["sebrang-heath-1", "sebrang-rich-1", "belindu-heath-1", "belindu-rich-1", "amerak-heath-1", "amerak-rich-1"]
READ_BACK = "05-06"  # in the story

DECISIONS = """date,decision,subject,from,to,value,reason,by
2031-05-06,belongs_to,amerak-heath-1-may,,,amerak-rich-1-may,the labels show it: the cards were swapped,field team
2031-05-06,belongs_to,amerak-rich-1-may,,,amerak-heath-1-may,the labels show it: the cards were swapped,field team
2031-05-06,clock,belindu-rich-1-may,,,2031-05-04 17:00,its clock was set to the neighbours' zone,field team
2031-05-06,leave_out,belindu-heath-1-may,,,,its microphone was dead,field team
"""


def sound(seed, level, seconds=60):
    """Noise that comes and goes, and short calls at rising pitches."""
    random = np.random.default_rng(seed)
    t = np.arange(seconds * RATE) / RATE
    x = random.normal(0, level, len(t)) * (1 + 0.6 * np.sin(2 * np.pi * t / 7))
    for _ in range(20):
        at, pitch = random.uniform(0, seconds - 1), random.uniform(1500, 6000)
        x += np.where((t > at) & (t < at + 0.6), 5 * level * np.sin(2 * np.pi * pitch * t), 0)
    return wav(np.clip(np.round(x * 32768), -32768, 32767).astype("<i2"), rate=RATE)


def card(place, name, recorder, level=0.02, by_hours=0):
    folder = place / "cards" / name
    folder.mkdir(parents=True)
    for day in (4, 5):
        for hour in (17, 19, 21, 23):
            when = datetime.datetime(2031, 5, day, hour) + datetime.timedelta(hours=by_hours)
            (folder / f"LT{recorder:02}_{when:%Y%m%d_%H%M%S}.wav").write_bytes(
                sound(100 * recorder + 1000 * day + hour, level))


def write_waypoints(place):
    points = "".join(f'<wpt lat="{1.51 + 0.02 * i:.5f}" lon="{110.3 + 0.015 * i:.5f}"><name>{site}</name></wpt>\n'
                     for i, site in enumerate(SITES))
    (place / "trail.gpx").write_text('<?xml version="1.0"?>\n<gpx version="1.1" creator="receiver" '
                                     f'xmlns="http://www.topografix.com/GPX/1/1">\n{points}</gpx>\n')


def fill_sheets(survey):
    path = survey / "sites.csv"
    rows = list(csv.DictReader(open(path, newline="")))
    for row in rows:
        row["nutrient_status"] = "poor" if "heath" in row["site"] else "rich"
        row["sensitive"] = "yes" if row["site"].startswith("amerak") else ""
    with open(path, "w", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    lines = ["deployment,site,folder,recorder,start,end,hours,clock_error_start_s,clock_error_end_s"]
    lines += [f"{site}-may,{site},recordings/{site}-may,LT{i + 1:02},2031-05-04 12:00,2031-05-06 12:00,17:00-01:00,0,4"
              for i, site in enumerate(SITES)]
    (survey / "deployments.csv").write_text("\n".join(lines) + "\n")
    settings = survey / "survey.toml"
    text = re.sub(r"(?m)^#\s*primary = .*$", 'primary = { index = "standout", window = "dusk" }', settings.read_text(), 1)
    settings.write_text(text)


def play(program, place):
    def run(*words):
        done = subprocess.run([program, *words], cwd=place, capture_output=True, text=True, timeout=600)
        if done.returncode not in (0, 1, 2):
            sys.exit(f"{words}: exit code {done.returncode}\n{done.stdout}{done.stderr}")
        text = (done.stdout + done.stderr).replace(str(place), "/home/you")
        text = re.sub(r"\((?:[\w/-]+), (\w+)\)", r"(sda1, \1)", text)
        today = datetime.datetime.now(datetime.timezone.utc)
        return re.sub(rf"(?<=  ){today:%m-%d}(?=  )", READ_BACK, text).strip("\n")

    def offload(name, site, *options):
        return run("offload", f"cards/{name}", "my-survey", "--deployment", f"{site}-may", "--quiet", *options)

    def ending(text):  # from the deployment's line of the board on
        return text[text.index("\ndeployment  ") + 1:]

    boxes = {}
    write_waypoints(place)
    for name, recorder, how in (("first", 1, {}), ("second", 2, {}), ("third", 3, {"level": 0}),
                                ("fourth", 4, {"by_hours": 1}), ("fifth", 6, {}), ("sixth", 5, {})):
        card(place, name, recorder, **how)
    boxes["init"] = run("init", "my-survey", "--waypoints", "trail.gpx")
    fill_sheets(place / "my-survey")
    run("plan", "my-survey", "--rate", str(RATE), "--bits", "16", "--card-gb", "64")
    boxes["board-before"] = run("board", "my-survey")
    boxes["whose"] = run("offload", "cards/first", "my-survey")
    boxes["first"] = offload("first", SITES[0], "--second", "backup")
    offload("second", SITES[1], "--one-copy")
    boxes["third"] = ending(offload("third", SITES[2], "--one-copy"))
    boxes["fourth"] = ending(offload("fourth", SITES[3], "--one-copy"))
    boxes["refused"] = offload("fifth", SITES[4], "--one-copy")
    offload("fifth", SITES[4], "--one-copy", "--force")
    offload("sixth", SITES[5], "--one-copy", "--force")
    boxes["board-all"] = run("board", "my-survey")
    (place / "my-survey/decisions.csv").write_text(DECISIONS)
    boxes["decisions"] = DECISIONS.strip("\n")
    boxes["board-decided"] = run("board", "my-survey")
    done = run("run", "my-survey", "--quiet")
    boxes["answer"] = done[done.rindex("\n\n") + 2:]
    boxes["applied"] = (place / "my-survey/hearwood/tables/decisions_applied.csv").read_text().strip("\n")
    boxes["deposit"] = run("deposit", "my-survey", "season.zip", "--quiet") + "\n" + run("deposit", "--check", "season.zip")
    return boxes


def main():
    program = str(pathlib.Path(sys.argv[1]).resolve())
    page = SOURCE / "docs/camp-week.md"
    with tempfile.TemporaryDirectory() as folder:
        boxes = play(program, pathlib.Path(os.path.realpath(folder)))
    text = page.read_text()
    for name, box in boxes.items():
        text, count = re.subn(rf"(<!-- {name} -->\n```\n).*?(^```$)", lambda m: m[1] + box + "\n" + m[2], text,
                              flags=re.S | re.M)
        if count != 1:
            sys.exit(f"docs/camp-week.md has no box {name}")
    page.write_text(text)


if __name__ == "__main__":
    main()
