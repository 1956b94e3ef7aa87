"""init and plan through the real binary: exit codes, streams, files, and the printed sheet by a browser.

A browser prints the sheet to PDF; the pages are counted in the file (objects of /Type /Page). One visit is one page, with
short texts and with the longest ones alike.
"""

import itertools
import math
import pathlib
import re
import subprocess
import sys
import tempfile

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from support import check, going_on, table  # noqa: E402

FILES = {"labels.html", "sites.gpx", "deployment-sheet.html", "consent-notice.html", "deployment-sheet.csv", "sun-times.csv", "budget.csv", "distances.csv", "design.csv"}
run = support.Program(sys.argv[1])


class approx(float):
    """Equal to nine digits: the tables' numbers read back exactly, the sums behind them round."""

    def __eq__(self, other):
        return math.isclose(self, other, rel_tol=1e-9)

    __hash__ = None


def pages(html, folder):
    pdf = folder / "sheet.pdf"
    subprocess.run(["chromium", "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder / 'profile'}",
                    "--no-pdf-header-footer", f"--print-to-pdf={pdf}", html.as_uri()],
                   check=True, capture_output=True, timeout=120)
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf.read_bytes()))


def test_init(folder):
    survey = folder / "new"
    dry = run("init", survey, "--dry-run")
    check(dry.stderr == "" and not survey.exists(), "a dry init makes nothing")
    done = run("init", survey)
    check(done.stderr == "" and done.stdout.count("\n") == 6, done.stdout)
    made = {p.name for p in survey.iterdir()}
    check(made == {"survey.toml", "sites.csv", "deployments.csv", "decisions.csv", "recordings"}, f"init made {made}")
    before = (survey / "sites.csv").read_bytes()
    again = run("init", survey, code=2)
    check(again.stdout == "" and again.stderr.count("never overwritten") == 4, again.stderr)
    check((survey / "sites.csv").read_bytes() == before, "init wrote over a sheet")
    return survey


def test_documented(plan):
    """Every column of plan's tables stands in its part of docs/tables.md; deployment-sheet.csv has those of sheets.md."""
    tables = (pathlib.Path(__file__).parents[2] / "docs" / "tables.md").read_text(encoding="utf-8")
    part = tables.split("\n## Tables of `plan`")[1].split("\n## ")[0]
    for name in ("sun-times", "budget", "distances", "design", "power"):
        section = part.split(f"### `{name}.csv`")[1].split("\n### ")[0]
        header = (plan / f"{name}.csv").read_text(encoding="utf-8").splitlines()[0].split(",")
        check([column for column in header if f"`{column}`" not in section] == [], (name, header))


def test_plan(survey):
    dry = run("plan", survey, "--dry-run")
    check(dry.stderr == "" and not (survey / "hearwood").exists(), "a dry plan writes nothing")
    done = run("plan", survey, "--card-gb", 128, "--battery-mah", 9000, "--record-ma", 35, "--sleep-ma", 1, "--power",
               "--most-sites", 4)
    check(done.stderr == "", done.stderr)
    check(max(map(len, done.stdout.splitlines())) <= 80, done.stdout)
    for text in ("Sunrise and sunset", "Card and battery", "Spacing", "Design, as the sheets have it", "How many sites",
                 "which covers the 7 planned", "no result can be significant"):
        check(text in " ".join(done.stdout.split()), (text, done.stdout))
    plan = survey / "hearwood" / "plan"
    check({p.name for p in plan.iterdir()} == FILES | {"power.csv"}, "other files than plan's")
    test_documented(plan)
    (plan / "power.csv").unlink()
    files = FILES - {"budget.csv"}  # which has the card and battery of the call
    bytes_before = {name: (plan / name).read_bytes() for name in files}
    budget = table(plan / "budget.csv")
    check(len(budget) == 2, budget)  # one a deployment of the sheets
    for row in budget:
        # By hand: 10 of 60 minutes of 48,000 samples of 2 bytes a second; a card is filled to 95 %, a battery drained to 80 %.
        a_day = 48000 * 2 * 86400 / 6 / 1e9
        check(float(row["gb_in_all"]) == approx(a_day * float(row["days"])), row)
        check(float(row["card_days"]) == approx(128 * 0.95 / a_day), row)
        check(float(row["battery_days"]) == approx(9000 * 0.8 / ((35 / 6 + 1 * 5 / 6) * 24)), row)
        check((row["card_lasts"], row["battery_lasts"]) == ("1", "1"), row)
    run("plan", survey)
    check(bytes_before == {name: (plan / name).read_bytes() for name in files}, "the same plan has other bytes")
    check({p.name for p in plan.iterdir()} == FILES, "a plan without --power leaves other files")
    for arguments in (("--from", "tomorrow"), ("--bits", "12"), ("--rate", "0"), ("--days", "-1"), ("--spread", "1", "--pilot", "x")):
        bad = run("plan", survey, *arguments, code=2)
        check(bad.stderr != "" and bad.stdout == "", (arguments, bad))
    run("plan", survey / "none", code=2)


def confounded(survey):
    """Each class on its own dates, gain, height, recorder and elevation: plan says so before anybody goes out."""
    sites, deployments = [], []
    for i in range(8):
        rich = i < 4
        stand, elevation, river = ("rich", 20, "A") if rich else ("poor", 200, "B")
        sites.append({"site": f"S{i}", "nutrient_status": stand, "elevation_m": elevation + i, "river": river})
        # Two recorders a class, each out twice, three days apart.
        day = (1 if rich else 11) + 3 * (i % 4 // 2)
        recorder, gain, height = (f"R{i % 2}", 18, 1.5) if rich else (f"P{i % 2}", 24, 3)
        deployments.append({"deployment": f"D{i}", "site": f"S{i}", "recorder": recorder, "start": f"2031-05-{day:02} 12:00",
                            "end": f"2031-05-{day + 2:02} 12:00", "gain_db": gain, "height_m": height})
    support.write_survey(survey, sites, deployments, stands='block = "river"')


def test_confounding(folder):
    survey = folder / "confounded"
    confounded(survey)
    design = run("plan", survey, "--dry-run").stdout.split("Design, as the sheets have it")[1]
    codes = {"dates", "gain", "height", "elevation", "recorders-apart", "one-class-blocks"}
    for code in codes:
        check(re.search(rf"^  (serious|doubt), {code}:", design, re.M), (code, design))
    run("plan", survey)
    rows = table(survey / "hearwood" / "plan" / "design.csv")
    check(codes <= {row["code"] for row in rows if row["severity"] in ("serious", "doubt")}, rows)


def record(path, rng):
    """Ten seconds of noise with as many clicks as chance gives: sites differ, and nothing else matters here."""
    rate = 24000
    sound = rng.normal(0, 300, 10 * rate)
    for at in rng.integers(0, 9 * rate, rng.integers(5, 60)):
        sound[at:at + 400] += rng.normal(0, 4000, 400)
    support.write_wave(path, np.clip(sound, -32768, 32767).astype("<i2"), rate)


def pilot_survey(survey):
    rng = np.random.default_rng(20310504)
    sites = [{"site": f"S{i}", "nutrient_status": ("rich", "poor")[i % 2], "river": ("A", "B")[i // 6]} for i in range(12)]
    support.write_survey(survey, sites, stands='block = "river"',
                         rest='[measure]\nsegment_s = 10\n[contrast]\nprimary = { index = "aci", window = "dawn" }')
    for i in range(12):
        record(survey / "recordings" / f"DS{i}" / f"R{i}_20310504_060000.wav", rng)


def spread_by_least_squares(survey):
    """Residual standard deviation of aci at dawn on class and block, by numpy's least squares."""
    sites = table(survey / "sites.csv")
    dawn = {row["site"]: float(row["aci"]) for row in table(survey / "hearwood" / "tables" / "windows.csv")
            if row["window"] == "dawn"}
    design = np.array([[1, row["nutrient_status"] == "rich", row["river"] == "B"] for row in sites], float)
    values = np.array([dawn[row["site"]] for row in sites])
    _, squares, _, _ = np.linalg.lstsq(design, values, rcond=None)
    return math.sqrt(squares[0] / (len(values) - 3))


def power_by_simulation(sites, effect, simulations=4000):
    """Two blocks of so many sites a class: the share of surveys whose exact p reaches 0.05, by numpy alone.

    All assignments of the classes within blocks; the statistic is the mean over blocks of the difference of means.
    """
    rng = np.random.default_rng(1)
    signs = np.full((math.comb(2 * sites, sites), 2 * sites), -1.0)
    for row, chosen in zip(signs, itertools.combinations(range(2 * sites), sites)):
        row[list(chosen)] = 1
    seen = 0
    for _ in range(simulations):
        values = rng.normal(size=(2, 2 * sites))
        values[:, :sites] += effect
        one, other = signs @ values[0], signs @ values[1]
        all_sums = np.abs(one[:, None] + other[None, :])
        observed = abs(one[0] + other[0])
        seen += np.mean(all_sums >= observed - 1e-9) <= 0.05
    return seen / simulations


def test_pilot(folder, survey):
    pilot = folder / "pilot"
    pilot_survey(pilot)
    run("measure", pilot, "--quiet")
    run("tabulate", pilot)
    wanted = spread_by_least_squares(pilot)
    done = run("plan", survey, "--power", "--pilot", pilot, "--effect", 1.5, "--most-sites", 4)
    rows = table(survey / "hearwood" / "plan" / "power.csv")
    check([row["sites"] for row in rows] == ["2", "3", "4"], rows)
    for row in rows:
        check(float(row["spread"]) == approx(wanted), (row, wanted))
        check(float(row["effect"]) == approx(1.5 * wanted), row)
    check(f"spread {wanted:.3g} of aci in dawn over the sites of" in done.stdout, (wanted, done.stdout))
    # The measured survey is its own pilot; its two rivers are two blocks.
    run("plan", pilot, "--power", "--effect", 1.5, "--most-sites", 3)
    two, three = table(pilot / "hearwood" / "plan" / "power.csv")
    check(float(three["spread"]) == approx(wanted), three)
    check(float(two["p_min"]) == approx(2 / 36) and float(two["power"]) == 0, two)
    check(float(three["p_min"]) == approx(2 / 400) and three["permutations"] == "400", three)
    power, share = float(three["power"]), power_by_simulation(3, 1.5)
    # Both are shares of simulated surveys: four standard errors of their difference.
    error = math.sqrt(power * (1 - power) / int(three["simulations"]) + share * (1 - share) / 4000)
    check(abs(power - share) < 4 * error, (power, share, error))
    undeclared = (pilot / "survey.toml").read_text().split("[contrast]")[0]
    (pilot / "survey.toml").write_text(undeclared)
    refused = run("plan", survey, "--power", "--pilot", pilot, code=2)
    check("declares no primary outcome" in refused.stderr and "--spread" in refused.stderr, refused.stderr)


def test_printed(folder, survey):
    check(pages(survey / "hearwood" / "plan" / "deployment-sheet.html", folder) == 3, "a visit is a page, and the trial")
    long = folder / "long"
    word = "Overlong wording " * 20
    sites = [{"site": f"{i} {word}", "nutrient_status": "rich" if i < 2 else "poor", "river": word, "trail": word, "trail_m": 10,
              "elevation_m": 20, "notes": word} for i in range(4)]
    deployments = [{"deployment": f"D{i} {word}", "site": f"{i} {word}", "folder": f"recordings/{i} {word}", "recorder": f"{i} {word}",
                    "start": "2031-05-04 12:00", "end": "2031-05-09 12:00", "notes": word} for i in range(4)]
    support.write_survey(long, sites, deployments, stands='block = "river"', title=word, folders=False)
    run("plan", long)
    check(pages(long / "hearwood" / "plan" / "deployment-sheet.html", folder) == 5, "a visit with long texts is a page")
    settings = (long / "survey.toml").read_text()
    for language in ("en", "ms", "id", "es", "pt", "fr"):
        (long / "survey.toml").write_text(settings.replace("[survey]\n", f'[survey]\nlanguage = "{language}"\n'))
        run("plan", long)
        for name, wanted in (("deployment-sheet", 5), ("consent-notice", 1 if language == "en" else 2)):
            count = pages(long / "hearwood" / "plan" / f"{name}.html", folder)
            check(count == wanted, f"{language}: {name} has {count} pages, not {wanted}")
    (long / "survey.toml").write_text(settings.replace("[survey]\n", '[survey]\nlanguage = "tlh"\n'))
    refused = run("plan", long, code=2)
    check("language" in refused.stderr and "ms (Malay)" in refused.stderr, refused.stderr)


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        survey = test_init(folder)
        for test, arguments in ((test_plan, [survey]), (test_confounding, [folder]), (test_pilot, [folder, survey]),
                                (test_printed, [folder, survey])):
            with going_on(test.__name__):
                test(*arguments)
    return support.finish()


sys.exit(main())
