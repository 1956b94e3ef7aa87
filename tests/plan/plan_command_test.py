"""init and plan through the real binary: exit codes, streams, files, and the printed sheet by a browser.

A browser prints the sheet to PDF; the pages are counted in the file (objects of /Type /Page). One visit is one page, with
short texts and with the longest ones alike.
"""

import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

BINARY = sys.argv[1]
FILES = {"deployment-sheet.html", "deployment-sheet.csv", "sun-times.csv", "distances.csv"}


def run(*arguments, code=0):
    done = subprocess.run([BINARY, *map(str, arguments)], capture_output=True, text=True)
    assert done.returncode == code, (arguments, done.returncode, done.stdout, done.stderr)
    return done


def pages(html, folder):
    pdf = folder / "sheet.pdf"
    subprocess.run(["chromium", "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder / 'profile'}",
                    "--no-pdf-header-footer", f"--print-to-pdf={pdf}", html.as_uri()],
                   check=True, capture_output=True, timeout=120)
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf.read_bytes()))


def test_init(folder):
    survey = folder / "new"
    dry = run("init", survey, "--dry-run")
    assert dry.stderr == "" and not survey.exists()
    done = run("init", survey)
    assert done.stderr == "" and done.stdout.count("\n") == 4, done.stdout
    assert {p.name for p in survey.iterdir()} == {"survey.toml", "sites.csv", "deployments.csv", "recordings"}
    before = (survey / "sites.csv").read_bytes()
    again = run("init", survey, code=2)
    assert again.stdout == "" and again.stderr.count("never overwritten") == 3, again.stderr
    assert (survey / "sites.csv").read_bytes() == before
    return survey


def test_plan(survey):
    dry = run("plan", survey, "--dry-run")
    assert dry.stderr == "" and not (survey / "hearwood").exists()
    done = run("plan", survey, "--card-gb", 128, "--battery-mah", 9000, "--record-ma", 35, "--sleep-ma", 1, "--power",
               "--most-sites", 4)
    assert done.stderr == "", done.stderr
    for text in ("Sunrise and sunset", "Card and battery", "Spacing", "Design, as the sheets have it", "How many sites",
                 "which covers the 7 planned", "no result can be significant"):
        assert text in done.stdout, (text, done.stdout)
    plan = survey / "hearwood" / "plan"
    assert {p.name for p in plan.iterdir()} == FILES
    bytes_before = {name: (plan / name).read_bytes() for name in FILES}
    run("plan", survey)
    assert bytes_before == {name: (plan / name).read_bytes() for name in FILES}
    for arguments in (("--from", "tomorrow"), ("--bits", "12"), ("--rate", "0"), ("--days", "-1"), ("--spread", "1", "--pilot", "x")):
        bad = run("plan", survey, *arguments, code=2)
        assert bad.stderr != "" and bad.stdout == "", (arguments, bad)
    run("plan", survey / "none", code=2)


def confounded(survey):
    """Each class on its own dates, gain, height, recorder and elevation: plan says so before anybody goes out."""
    rows, sites = [], []
    for i in range(8):
        rich = i < 4
        stand, elevation, river = ("rich", 20, "A") if rich else ("poor", 200, "B")
        sites.append(f"S{i},{1.5 + i / 50},110.3,{stand},{elevation + i},{river}")
        # Two recorders a class, each out twice, three days apart.
        day = (1 if rich else 11) + 3 * (i % 4 // 2)
        recorder, gain, height = (f"R{i % 2}", 18, 1.5) if rich else (f"P{i % 2}", 24, 3)
        rows.append(f"D{i},S{i},recordings/D{i},{recorder},2031-05-{day:02} 12:00,2031-05-{day + 2:02} 12:00,{gain},{height}")
    (survey / "survey.toml").write_text('[survey]\ntime_zone = "Asia/Kuching"\n[stands]\nfactor = "nutrient_status"\n'
                                        'compare = ["rich", "poor"]\nblock = "river"\n')
    (survey / "sites.csv").write_text("site,latitude,longitude,nutrient_status,elevation_m,river\n" + "\n".join(sites) + "\n")
    (survey / "deployments.csv").write_text("deployment,site,folder,recorder,start,end,gain_db,height_m\n" + "\n".join(rows) + "\n")


def test_confounding(folder):
    survey = folder / "confounded"
    survey.mkdir()
    confounded(survey)
    design = run("plan", survey, "--dry-run").stdout.split("Design, as the sheets have it")[1]
    for topic in ("dates", "gain", "height", "elevation", "recorder", "block"):
        assert re.search(rf"^  (serious|doubt), {topic}:", design, re.M), (topic, design)


def test_printed(folder, survey):
    if not shutil.which("chromium"):
        raise SystemExit("chromium is not installed: the printed sheet cannot be checked (tests/packages.txt names it)")
    assert pages(survey / "hearwood" / "plan" / "deployment-sheet.html", folder) == 2
    long = folder / "long"
    long.mkdir()
    word = "Overlong wording " * 20
    (long / "survey.toml").write_text(f'[survey]\ntitle = "{word}"\ntime_zone = "Asia/Kuching"\n[stands]\n'
                                      'factor = "nutrient_status"\ncompare = ["rich", "poor"]\nblock = "river"\n')
    head = "site,latitude,longitude,nutrient_status,river,trail,trail_m,elevation_m,notes\n"
    (long / "sites.csv").write_text(head + "".join(
        f"{i} {word},{1.5 + i / 50},110.3,{'rich' if i < 2 else 'poor'},{word},{word},10,20,{word}\n" for i in range(4)))
    (long / "deployments.csv").write_text(
        "deployment,site,folder,recorder,start,end,notes\n" + "".join(
            f"D{i} {word},{i} {word},recordings/{i} {word},{i} {word},2031-05-04 12:00,2031-05-09 12:00,{word}\n" for i in range(4)))
    run("plan", long)
    assert pages(long / "hearwood" / "plan" / "deployment-sheet.html", folder) == 4


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        survey = test_init(folder)
        test_plan(survey)
        test_confounding(folder)
        test_printed(folder, survey)


main()
