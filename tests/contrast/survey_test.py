"""`contrast SURVEY` and `robustness SURVEY` through the program, on a survey made here: every contrast is computed again
from windows.csv, and every changed setting by changing survey.toml and running the stages again.

    python3 survey_test.py PROGRAM DOCS SCRATCH
"""
import csv
import itertools
import json
import math
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.stats import spearmanr

sys.path[:0] = [str(Path(__file__).resolve().parents[1]), str(Path(__file__).resolve().parents[1] / "bench")]
import site_values  # noqa: E402
import support  # noqa: E402
from support import check, going_on, near  # noqa: E402

DOCS, SCRATCH = Path(sys.argv[2]), Path(sys.argv[3])
run = support.Program(sys.argv[1])
RATE, SECONDS = 16_000, 5
# Which segments are kept is judged under the declared settings, whatever frame is tried; with rain left in, the frame
# changes no segment's fate, and a survey measured anew must give the same numbers.
RAIN_IN = "[screen]\nrain_excludes = false"
# Each well inside a quarter of an hour from the sun's event at every site and date: a complete layout.
CLOCK = ["0200", "0540", "0600", "0625", "0640", "0715", "0800", "1200", "1830"]
DATES = ["20260310", "20260311", "20260312"]

TOML = """[survey]
title = "Small survey of a test"
time_zone = "Asia/Kuching"
[stands]
factor = "nutrient_status"
compare = ["rich", "poor"]
block = "river"
[measure]
segment_s = 5
{measure}
{screen}
{windows}
[contrast]
primary = {{ index = "bi", window = "dawn" }}
seed = 7
"""


def write_sound(path, random, calls, rate=RATE):
    """Noise with short tones between 2.2 and 6 kHz, `calls` of them."""
    sound = 0.02 * random.standard_normal(rate * SECONDS)
    for _ in range(calls):
        start, length = random.integers(0, rate * (SECONDS - 1)), rate // 5
        t = np.arange(length) / rate
        tone = np.sin(2 * np.pi * (random.uniform(2200, 6000) * t + 900 * t * t))
        sound[start:start + length] += random.uniform(0.02, 0.2) * tone * np.hanning(length)
    support.write_wave(path, np.clip(sound, -0.99, 0.99), rate)


def make_survey(folder):
    random = np.random.default_rng(3)
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    stands = ["rich"] * 4 + ["poor"] * 4 + ["swamp"] * 2
    sites, deployments = [], []
    for i, stand in enumerate(stands):
        name, river = f"s{i}", "upper" if i % 2 else "lower"
        sites.append([name, 1.5 + 0.02 * i, 113.1 + 0.013 * (i * 7 % 5), stand, river, 40 + 7 * (i * 3 % 8)])
        deployments.append([f"d{i}", name, f"recordings/d{i}", f"R{i}", 20 + i % 2, 1.5])
        target = folder / "recordings" / f"d{i}"
        target.mkdir(parents=True)
        for date in DATES:
            for clock in CLOCK:
                calls = random.poisson({"rich": 9, "poor": 5, "swamp": 7}[stand] * (1 if clock < "0900" else 0.4))
                write_sound(target / f"{date}_{clock}00.wav", random, calls)
    with open(folder / "sites.csv", "w", newline="") as file:
        csv.writer(file).writerows([["site", "latitude", "longitude", "nutrient_status", "river", "elevation_m"]] + sites)
    with open(folder / "deployments.csv", "w", newline="") as file:
        csv.writer(file).writerows([["deployment", "site", "folder", "recorder", "gain_db", "height_m"]] + deployments)
    (folder / "survey.toml").write_text(TOML.format(measure="", screen=RAIN_IN, windows=""))


def stages(folder, names=("measure", "tabulate", "contrast")):
    for name in names:
        run(name, folder, "--quiet")
    return tables(folder)


def tables(folder):
    return {path.stem: pd.read_csv(path) for path in (folder / "hearwood" / "tables").glob("*.csv")}


def statistic(y, is_a, block):
    total = weights = 0.0
    for b in set(block):
        a = [v for v, w, c in zip(y, is_a, block) if c == b and w]
        z = [v for v, w, c in zip(y, is_a, block) if c == b and not w]
        weight = len(a) * len(z) / (len(a) + len(z))
        total += weight * (np.mean(a) - np.mean(z))
        weights += weight
    return total / weights


def labellings(is_a, block):
    parts = []
    for b in sorted(set(block)):
        members = [i for i, c in enumerate(block) if c == b]
        count = sum(is_a[i] for i in members)
        parts.append([(members, set(chosen)) for chosen in itertools.combinations(members, count)])
    for combination in itertools.product(*parts):
        chosen = set().union(*(picked for _, picked in combination))
        yield [i in chosen for i in range(len(is_a))]


def permutation_p(y, is_a, block):
    observed = statistic(y, is_a, block)
    tolerance = 1e-9 * max(abs(observed), np.abs(np.array(y) - np.mean(y)).max())
    hits = [abs(statistic(y, way, block)) >= abs(observed) - tolerance for way in labellings(is_a, block)]
    return observed, sum(hits) / len(hits), len(hits)


def check_site_values(found_and_folder):
    """windows.csv and hours.csv apart from the program: the additive model by numpy, the sun by ephem."""
    found, folder = found_and_folder
    for table, part, wanted in zip(("windows", "hours"), ("window", "hour"),
                                   site_values.from_tables(folder / "hearwood" / "tables", ["bi", "aci"], 8)):
        got = found[table].set_index(["site", part])
        for where, want in wanted.iterrows():
            for column in ("bi", "aci", "leans"):
                near(got.loc[where, column], want[column], f"{table} {where} {column}")


def check_contrasts(found):
    sites = found["sites"].set_index("site")
    windows = found["windows"]
    rows = found["contrasts"].set_index(["index", "window"])
    check(len(rows) >= 9 * 4, "a row for every index and window")
    for (index, window), row in rows.iterrows():
        mine = windows[windows["window"] == window].set_index("site")[index].dropna()
        mine = mine[[sites["nutrient_status"][s] != "swamp" for s in mine.index]]
        is_a = [sites["nutrient_status"][s] == "rich" for s in mine.index]
        if sum(is_a) < 2 or len(is_a) - sum(is_a) < 2:
            check(math.isnan(row["p"]), f"{index} {window} is untested")
            continue
        difference, p, ways = permutation_p(list(mine), is_a, [sites["river"][s] for s in mine.index])
        near(row["difference"], difference, f"{index} {window} difference")
        near(row["p"], p, f"{index} {window} p")
        check(row["permutations"] == ways, f"{index} {window} permutations")
    check(list(rows[rows["role"] == "primary"].index) == [("bi", "dawn")], "one primary row")
    near(found["profile"].set_index(["index", "hour"]).loc[("bi", 6), "difference"], statistic(*hour_values(found, sites, "bi", 6)), "profile, bi at 6")
    check(not {"latitude", "longitude"} & set(found["covariates"]["column"]), "coordinates are no covariates")
    for column in ("elevation_m", "gain_db"):
        row = found["covariates"].set_index(["index", "window", "column"]).loc[("bi", "dawn", column)]
        of_sites = windows[windows["window"] == "dawn"].set_index("site")["bi"]
        other = {"gain_db": lambda s: 20 + int(s[1:]) % 2}.get(column, lambda s: sites[column][s])
        near(row["rho"], spearmanr(of_sites, [other(s) for s in of_sites.index])[0], f"rank correlation with {column}")
        check(row["n"] == 10, "pairs")
        if column == "gain_db":  # it is the block
            check(math.isnan(row["rho_within"]), "nothing is left of the gain within blocks")
            continue
        # Least squares of class and block by numpy, ranks of the residuals by scipy.
        names = list(of_sites.index)
        design = np.array([[sites[factor][s] == level for factor in ("nutrient_status", "river")
                            for level in sorted(set(sites[factor]))] for s in names], float)
        left = []
        for numbers in (list(of_sites), [other(s) for s in names]):
            numbers = np.array(numbers, float)
            left.append(np.round(numbers - design @ np.linalg.lstsq(design, numbers, rcond=None)[0], 9))
        near(row["rho_within"], spearmanr(*left)[0], f"rank correlation with {column} within class and block")
    # More than two classes: the other pairs and all classes together have tables of their own.
    check(set(zip(found["pairs"]["class_a"], found["pairs"]["class_b"]))
          == {("rich", "swamp"), ("poor", "swamp")}, "other pairs")
    # Only the sites compared have values on even terms, and at this sample rate none have events.
    plain = found["classes"].dropna(subset=["f"])
    plain = plain[~plain["index"].str.startswith("even_")]
    check(set(plain["classes"]) == {"rich;poor;swamp"}, "all classes")


def hour_values(found, sites, index, hour):
    mine = found["hours"]
    mine = mine[mine["hour"] == hour].set_index("site")[index].dropna()
    mine = mine[[sites["nutrient_status"][s] != "swamp" for s in mine.index]]
    return list(mine), [sites["nutrient_status"][s] == "rich" for s in mine.index], [sites["river"][s] for s in mine.index]


def same_result(what, row, wanted):
    for column in ("difference", "ci_low", "ci_high", "hedges_g", "p"):
        near(row[column], wanted[column], f"robustness, {what}, {column}", 1e-8)


def primary_of(found):
    return found["contrasts"].set_index(["index", "window"]).loc[("bi", "dawn")]


def check_robustness(folder):
    run("robustness", folder, "--quiet", "--jobs", 1)
    where = folder / "hearwood" / "tables"
    described = {resource["path"] for resource in json.loads((where / "datapackage.json").read_text())["resources"]}
    check({"robustness.csv", "robustness_grid.csv"} <= described, "datapackage.json names the tables of robustness")
    first = {name: (where / name).read_bytes() for name in ("robustness.csv", "robustness_grid.csv", "robustness.svg")}
    (folder / "hearwood" / "robustness.db").unlink()
    run("robustness", folder, "--quiet", "--jobs", 4)
    for name, content in first.items():
        check((where / name).read_bytes() == content, f"{name} is the same for any number of threads")
    rows = pd.read_csv(where / "robustness.csv").fillna({"variant": ""}).set_index(["choice", "variant"])
    same_result("as declared", rows.loc[("as declared", "")], primary_of(tables(folder)))
    check(list(rows.loc["without a site"].index) == [f"s{i}" for i in range(8)], "every site of the pair is left out once")

    windows = '[windows]\ndawn = {{ from = "sunrise{}min", to = "sunrise+{}min" }}\n' \
              'dusk = {{ from = "sunset-60min", to = "sunset+60min" }}\n'
    variants = {
        ("frame", "1024 samples"): dict(measure="frame = 1024\nhop = 1024"),
        ("overlap", "50 % of a frame"): dict(measure="frame = 512\nhop = 256"),
        ("bands", "a fifth lower"): dict(measure="range_hz = [160, 8000]\nanthrophony_hz = [800, 1600]\n"
                                                 "biophony_hz = [1600, 6400]"),
        ("rain screen", "on"): dict(screen="[screen]\nrain_excludes = true"),
        ("window", "30 min earlier"): dict(windows=windows.format("-90", "90")),
        ("window", "30 min longer at both ends"): dict(windows=windows.format("-90", "150")),
    }
    for place, changes in variants.items():
        if place not in rows.index:
            check(place[0] == "rain screen", f"{place} may only be left out where it changes nothing")
            continue
        other = folder.parent / "variant"
        shutil.rmtree(other, ignore_errors=True)
        shutil.copytree(folder, other, ignore=shutil.ignore_patterns("hearwood"))
        (other / "survey.toml").write_text(TOML.format(**{"measure": "", "screen": RAIN_IN, "windows": "", **changes}))
        same_result(place, rows.loc[place], primary_of(stages(other)))
        shutil.rmtree(other)


def check_mixed_models(folder):
    words = [str(folder / "hearwood" / "tables"), "bi", "dawn", "river"]
    fits = []
    for call in (["Rscript", DOCS / "mixed_model.R"], ["/usr/bin/python3", DOCS / "mixed_model.py"]):
        done = subprocess.run([*map(str, call), *words], capture_output=True, text=True)
        check(done.returncode == 0, f"{call}: {done.stderr}")
        fits.append({line.split(",")[0]: float(line.split(",")[1]) for line in done.stdout.split()[1:]})
    near(fits[0]["difference"], fits[1]["difference"], "R and pandas agree on the difference", 1e-5)
    near(fits[0]["standard_error"], fits[1]["standard_error"], "and on its standard error", 1e-3)
    # Every site has the same dates here, so the model's estimate is the contrast's.
    near(fits[0]["difference"], fits[0]["permutation_difference"], "the model's difference is the program's", 1e-6)


def check_history(folder):
    def history(*more):
        return " ".join(run("contrast", folder, "--history", *more).stdout.split())
    check("before any recording was measured: primary bi in dawn; rich against poor within river; level 0.95"
          in history(), "declared with the plan in place: " + history())
    check(history().count("primary") == 1, "and on record once")
    text = (folder / "survey.toml").read_text()
    (folder / "survey.toml").write_text(text.replace('window = "dawn"', 'window = "dusk"') + "matters = 2\n")
    run("contrast", folder, "--dry-run", "--quiet")
    check(history("--dry-run").count("primary") == 1, "a dry run notes nothing")
    run("contrast", folder, "--quiet")
    told = history()
    check(told.count("primary") == 2 and "segments had been measured: primary bi in dusk" in told
          and "matters from 2 on" in told, "a change is noted with what was measured by then: " + told)
    endings = tables(folder)["contrasts"].set_index(["index", "window"])["ending"]
    check(endings[("bi", "dusk")] in ("more", "smaller", "some", "undecided") and endings.notna().sum() == 1,
          "the primary's verdict ends by what matters")
    page = folder / "hearwood" / "report" / "index.html"
    run("report", folder, "--quiet", "--no-pictures", "--no-clips")
    check("first declared was bi in dawn, before any recording was measured" in page.read_text(), "the methods say it")
    before = page.read_bytes()
    run("report", folder, "--quiet", "--no-pictures", "--no-clips")
    check(page.read_bytes() == before, "a second page is the same")
    (folder / "survey.toml").write_text(text)
    run("contrast", folder, "--quiet")


def check_refusals(folder):
    mixed = folder.parent / "mixed"
    shutil.rmtree(mixed, ignore_errors=True)
    shutil.copytree(folder, mixed, ignore=shutil.ignore_patterns("hearwood"))
    random = np.random.default_rng(4)
    for path in (mixed / "recordings" / "d2").glob("*.wav"):
        write_sound(path, random, 5, rate=22_050)
    run("measure", mixed, "--quiet")
    told = run("contrast", mixed, "--quiet", code=2).stderr
    check(all(word in told for word in ("22,050", "16,000", "s2")) or all(w in told for w in ("22050", "16000", "s2")),
          "mixed rates are refused with both rates and the site: " + told)
    check(not (mixed / "hearwood" / "tables" / "contrasts.csv").exists(), "and nothing is written")
    told = run("contrast", folder, "--compare", "rich,poor", code=2).stderr
    check("survey.toml" in told, "a survey declares its pair itself")
    run("contrast", folder, "--values", "x.csv", code=2)
    empty = folder.parent / "unmeasured"
    shutil.rmtree(empty, ignore_errors=True)
    shutil.copytree(folder, empty, ignore=shutil.ignore_patterns("hearwood", "recordings"))
    told = run("contrast", empty, code=2).stderr
    check("hearwood measure" in told, "not measured yet: says what to run: " + told)


def check_screen(folder):
    """What `contrast` says and writes when it is run again, and what it says of near sites."""
    before = {path.name: path.read_bytes() for path in (folder / "hearwood" / "tables").iterdir()}
    shown = run("contrast", folder, "--quiet").stdout
    for name, content in before.items():
        check((folder / "hearwood" / "tables" / name).read_bytes() == content, f"{name} is the same again")
    # A line that is one word, the path of the tables, cannot be broken: its length is that of the build folder.
    check(all(len(line) <= 80 for line in shown.splitlines() if " " in line), "80 columns: " + shown)
    check(shown.rstrip().endswith("contrasts.csv."), "the last line says where to look")
    check("No listening check was made" in shown, "it says that nobody listened")
    run("contrast", folder, "--dry-run", "--quiet")
    text = (folder / "survey.toml").read_text()
    (folder / "survey.toml").write_text(text.replace('block = "river"', 'block = "river"\nlistening_distance_m = 5000'))
    check("sites nearer than 5000 m counted as one" in " ".join(run("contrast", folder, "--quiet").stdout.split()),
          "near sites are counted as one too")
    (folder / "survey.toml").write_text(text)
    run("contrast", folder, "--quiet")


def main():
    folder = SCRATCH / "survey"
    make_survey(folder)
    found = stages(folder)
    for part, argument in ((check_site_values, (found, folder)), (check_contrasts, found), (check_screen, folder), (check_mixed_models, folder),
                           (check_robustness, folder), (check_history, folder), (check_refusals, folder)):
        with going_on(part.__name__):
            part(argument)
    if not support.failures:
        shutil.rmtree(SCRATCH)
    return support.finish()


sys.exit(main())
