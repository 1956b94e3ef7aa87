"""No number stands under a label that it was not made under: survey.toml is edited between two stages, and the page and
the commands are held against what the edited survey gives when everything is made anew.

    python3 old_results_test.py PROGRAM SCRATCH
"""
import json
import re
import shutil
import subprocess
import sys
import wave
from html import unescape
from pathlib import Path

import numpy as np
import pandas as pd

PROGRAM, SCRATCH = Path(sys.argv[1]), Path(sys.argv[2])
RATE, SECONDS = 16_000, 5
failures, checks = [], 0

TOML = """[survey]
title = "Small survey of a test"
time_zone = "Asia/Kuching"
[stands]
factor = "nutrient_status"
compare = ["rich", "poor"]
{block}
[measure]
segment_s = 5
[screen]
rain_excludes = false
[windows]
dawn = {{ from = "{dawn}", to = "sunrise+120min" }}
day = {{ from = "sunrise+120min", to = "17:30" }}
[contrast]
primary = {{ index = "{primary}", window = "dawn" }}
level = {level}
"""
DECLARED = dict(block='block = "river"', dawn="sunrise-60min", primary="bi", level=0.9)
CLOCK = ["0520", "0550", "0610", "0640", "0710", "0950", "1200"]
DATES = ["20260310", "20260311"]


def check(what, condition):
    global checks
    checks += 1
    if not condition:
        failures.append(what)


def run(*words, codes=(0,)):
    done = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True)
    check(f"{words}: exit code {done.returncode}, {done.stderr}", done.returncode in codes)
    return " ".join((done.stdout + done.stderr).split())


def write_sound(path, random, calls, rate=RATE):
    sound = 0.02 * random.standard_normal(rate * SECONDS)
    for _ in range(calls):
        start, length = random.integers(0, rate * (SECONDS - 1)), rate // 5
        t = np.arange(length) / rate
        tone = np.sin(2 * np.pi * (random.uniform(2200, 6000) * t + 900 * t * t))
        sound[start:start + length] += random.uniform(0.02, 0.2) * tone * np.hanning(length)
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, rate, 0, "NONE", ""))
        file.writeframes((np.clip(sound, -0.99, 0.99) * 32767).astype("<i2").tobytes())


def declare(folder, **changes):
    (folder / "survey.toml").write_text(TOML.format(**{**DECLARED, **changes}))


def make_survey(folder):
    random = np.random.default_rng(5)
    folder.mkdir(parents=True)
    sites = ["site,latitude,longitude,nutrient_status,river"]
    deployments = ["deployment,site,folder,recorder"]
    for i in range(8):
        stand = "rich" if i < 4 else "poor"
        sites.append(f"s{i},{1.5 + 0.02 * i},{113.1 + 0.013 * (i * 7 % 5)},{stand},{'upper' if i % 2 else 'lower'}")
        deployments.append(f"d{i},s{i},recordings/d{i},R{i}")
        (folder / "recordings" / f"d{i}").mkdir(parents=True)
        for date in DATES:
            for clock in CLOCK:
                # The rivers differ more than the classes do, so that blocks matter.
                calls = random.poisson((7 if stand == "rich" else 4) + 8 * (i % 2))
                write_sound(folder / "recordings" / f"d{i}" / f"{date}_{clock}00.wav", random, calls)
    (folder / "sites.csv").write_text("\n".join(sites) + "\n")
    (folder / "deployments.csv").write_text("\n".join(deployments) + "\n")
    declare(folder)


def page_of(folder):
    return (folder / "hearwood/report/index.html").read_text()


def words_of(page):
    """What a reader sees of the page without its charts."""
    body = re.sub(r"<(script|style).*?</\1>", " ", page, flags=re.S)
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", body)).split())


def data_of(page):
    return json.loads(re.search(r'id="page-data">(.*?)</script>', page, re.S)[1])


def report(folder):
    run("report", folder, "--quiet", "--no-clips", "--no-pictures")
    return page_of(folder)


def drawn_contrasts(page):
    table = data_of(page)["tables"]["contrasts"]
    return pd.DataFrame(table["rows"], columns=table["columns"]).set_index(["index", "window"])


def check_edits(folder):
    """An edit, then the page alone; then contrast and the page: both pages are the same, byte for byte."""
    for what, changes in {"level": dict(level=0.5), "primary": dict(primary="aci"), "block": dict(block=""),
                          "nothing": {}}.items():
        declare(folder, **changes)
        alone = report(folder)
        run("contrast", folder, "--quiet")
        after = report(folder)
        check(f"{what} edited: the page alone is the page after contrast", alone == after)
        rows = drawn_contrasts(alone)
        written = pd.read_csv(folder / "hearwood/tables/contrasts.csv", float_precision="round_trip").set_index(["index", "window"])
        index = changes.get("primary", DECLARED["primary"])
        check(f"{what} edited: the primary row is the one drawn as primary",
              list(rows[rows["role"] == "primary"].index) == [(index, "dawn")])
        for column in ("difference", "ci_low", "ci_high", "p", "p_adjusted", "n_a", "mean_a"):
            check(f"{what} edited: {column} on the page is that of the table",
                  np.array_equal(pd.to_numeric(rows[column]), pd.to_numeric(written[column]), equal_nan=True))
        words = words_of(alone)
        level = 100 * changes.get("level", DECLARED["level"])
        check(f"{what} edited: only intervals of {level:g} % are spoken of",
              set(re.findall(r"([\d.]+) % (?:confidence )?interval", words)) == {f"{level:g}"})
        check(f"{what} edited: blocks are spoken of where there are blocks",
              ("permuted within blocks" in words) == (what != "block"))


def is_old(text):
    return re.search(r"robustness[^.]* (is|are) old", text) is not None and "hearwood robustness" in text


def check_robustness(folder):
    run("robustness", folder, "--quiet")
    check("robustness that is today's is drawn", "draw-robustness" in report(folder))
    for words in (words_of(page_of(folder)), run("contrast", folder, "--quiet"), run("check", folder)):
        check(f"robustness that is today's is not called old: {words[:300]}", not is_old(words))
    for what, changes in {"level": dict(level=0.5), "window": dict(dawn="sunrise-30min"),
                          "block": dict(block="")}.items():
        declare(folder, **changes)
        page = report(folder)
        check(f"{what} edited: the page calls robustness old", is_old(words_of(page)))
        check(f"{what} edited: old robustness is not drawn", "draw-robustness" not in page)
        for command in ("check", "contrast", "report"):
            told = run(command, folder, "--quiet")
            check(f"{what} edited: {command} calls robustness old: {told[-400:]}", is_old(told))
    declare(folder)
    check("put back as it was, it is today's again", "draw-robustness" in report(folder))

    declare(folder, dawn="sunrise-30min")
    run("run", folder, "--quiet")
    page = page_of(folder)
    check("run renews what was made before", "draw-robustness" in page and not is_old(words_of(page)))
    rows = pd.read_csv(folder / "hearwood/tables/robustness.csv", float_precision="round_trip").set_index("choice")
    declared, primary = rows.loc["as declared"], drawn_contrasts(page).loc[("bi", "dawn")]
    for column in ("difference", "ci_low", "ci_high", "p", "n_a"):
        check(f"renewed robustness, {column}: {declared[column]} against {primary[column]}",
              abs(declared[column] - primary[column]) <= 1e-9 * max(1, abs(primary[column])))
    table = data_of(page)["tables"]["robustness"]
    drawn = pd.DataFrame(table["rows"], columns=table["columns"]).set_index("choice")
    check("the page draws the renewed ones", drawn.loc["as declared", "difference"] == declared["difference"])


def check_new_recordings(folder):
    """More sound came in: what was made of less is old."""
    write_sound(folder / "recordings/d3/20260312_055000.wav", np.random.default_rng(8), 30)
    run("measure", folder, "--quiet")
    check("new recordings: the page calls robustness old", is_old(words_of(report(folder))))


def check_refused(folder):
    """A contrast that is refused takes its tables away, and the page says why there is no answer."""
    tables = folder / "hearwood/tables"
    made = ["contrasts.csv", "profile.csv", "dawn_profile.csv", "onset.csv", "onset_contrasts.csv", "covariates.csv",
            "variance.csv", "effort.csv"]
    run("contrast", folder, "--quiet")
    check("contrast writes its tables", all((tables / name).exists() for name in made))
    for path in (folder / "recordings/d2").glob("*.wav"):
        write_sound(path, np.random.default_rng(4), 5, rate=22_050)
    run("measure", folder, "--quiet")
    told = run("contrast", folder, "--quiet", codes=(2,))
    check("mixed rates are refused: " + told, "22050 Hz" in told)
    left = [name for name in made if (tables / name).exists()]
    check(f"the tables of the refused contrast are gone: {left}", not left)
    check("and the data package does not name them",
          not {resource["path"] for resource in json.loads((tables / "datapackage.json").read_text())["resources"]} & set(made))
    page = report(folder)
    check("the page has no contrast", "contrasts" not in data_of(page)["tables"])
    check("the page says why", "different sample rates" in words_of(page))


def main():
    shutil.rmtree(SCRATCH, ignore_errors=True)
    folder = SCRATCH / "survey"
    make_survey(folder)
    for stage in ("measure", "tabulate", "contrast"):
        run(stage, folder, "--quiet")
    check_edits(folder)
    check_robustness(folder)
    check_new_recordings(folder)
    check_refused(folder)
    for failure in failures:
        print("FAILED:", failure)
    if not failures:
        shutil.rmtree(SCRATCH)
    print(f"{checks - len(failures)} of {checks} checks passed")
    sys.exit(1 if failures else 0)


main()
