"""The whole round of listening, through the real program: draw, look for what could give a clip away, answer in a
headless browser by keyboard, close and open again, save, score, carry into contrast, plant, forget.

    round_trip.py HEARWOOD NODE WEB      WEB: the folder with playwright-core in node_modules
"""
import csv
import hashlib
import json
import pathlib
import subprocess
import sys
import tempfile
import wave

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from round_trip_answers import write_answers  # noqa: E402
from support import check, going_on, table  # noqa: E402

HEARWOOD, NODE, WEB = sys.argv[1:4]
HERE = pathlib.Path(__file__).resolve().parent
RATE, SECONDS = 16000, 60
run = support.Program(HEARWOOD)


def minute(rng, calls):
    x = rng.standard_normal(RATE * SECONDS) * 0.003
    t = np.arange(int(0.3 * RATE)) / RATE
    for at in rng.integers(0, len(x) - len(t), calls):
        x[at:at + len(t)] += 0.1 * np.sin(2 * np.pi * (2500 + 3000 * t) * t) * np.hanning(len(t))
    return np.round(x * 32767).astype("<i2")


def make_survey(folder):
    """Four sites, six minutes each; rich sites call more. Returns the calls of every file."""
    calls, names = {}, [f"{'heath' if s % 2 else 'alluvial'}-{s}" for s in range(4)]
    support.write_survey(
        folder, [{"site": name, "nutrient_status": "poor" if s % 2 else "rich"} for s, name in enumerate(names)],
        [{"deployment": f"d{s}", "site": name} for s, name in enumerate(names)],
        rest='[measure]\nsegment_s = 20\n[contrast]\nprimary = { index = "aci", window = "day" }')
    for s in range(4):
        for hour in range(9, 15):
            rng = np.random.default_rng(100 * s + hour)
            count = int(rng.integers(0, 20) if s % 2 else rng.integers(15, 60))
            file = folder / f"recordings/d{s}/d{s}_20310504_{hour:02d}0000.wav"
            calls[file.relative_to(folder).as_posix()] = count
            support.write_wave(file, minute(rng, count), RATE)
    return calls


def look_for_secrets(folder, key):
    listen = folder / "hearwood/listen"
    check({p.name for p in listen.iterdir()} == {"listen.html", "clips", "pictures"}, "more than the sheet lies in its folder")
    page = (listen / "listen.html").read_text()
    for line in key:
        for secret in (line["site"], pathlib.Path(line["recording"]).name, line["recording"]):
            check(secret not in page, f"the page tells {secret}")
    sizes = {p.stat().st_size for p in (listen / "clips").iterdir()}
    check(len(sizes) == 1, f"clips differ in size: {sizes}")
    names = {p.stem for p in (listen / "clips").iterdir()}
    check(names == {line["clip"] for line in key}, "clips and key do not agree")
    for clip in (listen / "clips").iterdir():
        data = clip.read_bytes()
        check(data[:4] == b"RIFF" and data[36:40] == b"data", f"{clip.name}: a chunk beside format and samples")
        check(int.from_bytes(data[40:44], "little") + 44 == len(data), f"{clip.name}: bytes after the samples")
    levels = []
    for clip in (listen / "clips").iterdir():
        with wave.open(str(clip)) as sound:
            x = np.frombuffer(sound.readframes(sound.getnframes()), "<i2") / 32768
        levels.append(10 * np.log10(2 * np.mean(x * x)))
    check(np.ptp(levels) < 8, f"levels from {min(levels):.1f} to {max(levels):.1f} dBFS")
    check(any(line["repeat_of"] for line in key), "no clip comes twice")
    positions = {name: i for i, name in enumerate(json.loads(page.split('id="sheet">')[1].split("</script>")[0])["clips"])}
    order = [positions[line["clip"]] for line in sorted(key, key=lambda k: (k["site"], k["recording"]))]
    check(abs(np.corrcoef(order, np.arange(len(order)))[0, 1]) < 0.6, "the order of playing follows the sites")


def answers_for(key, calls, noise):
    """What a listener with open ears would say, clip by clip."""
    rng = np.random.default_rng(noise)
    answers = {}
    for line in key:
        count = calls[line["recording"]]
        answers[line["clip"]] = {"birds": count > 3, "insects": bool(rng.random() < 0.2), "kinds": 1 + (count > 20),
                                 "fullness": int(np.clip(round(count / 15 + rng.normal(0, 0.3)), 0, 4))}
    answers[key[0]["clip"]]["note"] = '=1+1, a "frog"?'
    return answers


def in_browser(folder, key, answers, work):
    """Answers all clips by keyboard; returns the file that the page saved."""
    task = work / "task.json"
    saved = work / "answers-browser.csv"
    task.write_text(json.dumps({"page": str(folder / "hearwood/listen/listen.html"), "profile": str(work / "profile"),
                                "saved": str(saved), "answers": answers, "listener": "AB"}))
    done = subprocess.run([NODE, str(HERE / "keyboard.mjs"), WEB, str(task)], capture_output=True, text=True, timeout=240)
    check(done.returncode == 0, f"browser: {done.stdout}{done.stderr}")
    return saved


def scoring(folder, key, calls, work):
    first = answers_for(key, calls, 1)
    saved = in_browser(folder, key, first, work)
    expected = work / "expected.csv"
    write_answers(expected, key, "AB", first)
    rows = lambda p: sorted(map(tuple, csv.reader(open(p, newline=""))))
    check(saved.exists() and rows(saved) == rows(expected), "the saved answers are not what was typed")
    second = work / "answers-CD.csv"
    write_answers(second, key, "CD", answers_for(key, calls, 2))
    done = run("listen", folder, "--score", saved, second)
    check("2 listeners" in done.stdout and "0 answers missing" in done.stdout, "summary: " + done.stdout)
    scores = {(r["index"], r["heard"]): r for r in table(folder / "hearwood/tables/listening.csv")}
    check(scores[("aci", "fullness")]["verdict"] == "follows", f"aci: {scores[('aci', 'fullness')]}")
    package = json.loads((folder / "hearwood/tables/datapackage.json").read_text())
    described = {resource["path"] for resource in package["resources"]}
    for name in ("", "_agreement", "_screens", "_contrasts"):
        check(f"listening{name}.csv" in described, f"datapackage.json does not name listening{name}.csv after the score")
    contrasts = table(folder / "hearwood/tables/listening_contrasts.csv")
    check(float(contrasts[0]["difference"]) > 0.5, f"heard contrast: {contrasts[0]}")
    agreement = table(folder / "hearwood/tables/listening_agreement.csv")
    between = [r for r in agreement if r["listeners"] == "AB and CD" and r["question"] == "fullness"]
    check(between and float(between[0]["kappa"]) > 0.7, f"agreement: {between}")
    run("tabulate", folder, "--quiet")
    before = run("contrast", folder, "--quiet").stdout
    check("blind listening check" in " ".join(before.split()), "contrast does not tell of the listening")
    verdicts = [r for r in table(folder / "hearwood/tables/contrasts.csv") if r["index"] == "aci"]
    check(all("followed the ear" in r["verdict"] for r in verdicts), "the verdicts do not tell of the ear")
    check("\n+ aci " in before and "By ear (listening check)" in before, "the table of contrasts has no sign of the ear")
    check(any("did not follow the ear" in r["verdict"] or "went against the ear" in r["verdict"]
              for r in table(folder / "hearwood/tables/contrasts.csv")), "no index is marked in its verdict")


def refusals(folder, key, work):
    check("already" in run("listen", folder, code=2).stderr, "a sheet is overwritten")
    check("did you mean 'aci'" in run("listen", folder, "--force", "--index", "acii", code=2).stderr, "no near index")
    check((folder / "hearwood/listen/clips").exists(), "a refused --force took the sheet away")
    wrong = work / "wrong.csv"
    write_answers(wrong, [dict(key[0], sheet="0bad0bad")], "AB", {key[0]["clip"]: {"kinds": 0, "fullness": 0}})
    error = run("listen", folder, "--score", wrong, code=2).stderr
    check("another listening sheet" in error and error.count("\n") == 1, f"wrong sheet: {error}")


def planting(folder):
    files = {p: p.read_bytes() for p in (folder / "recordings").rglob("*.wav")}
    run("listen", folder, "--plant", 3, "--quiet")
    rows = table(folder / "hearwood/planted_responses.csv")
    aci = [r for r in rows if r["index"] == "aci" and r["level_db"] == "20"]
    check(aci and float(aci[0]["rho"]) > 0.8, f"planted: {aci}")
    listen = {p.name for p in (folder / "hearwood/listen").iterdir()}
    check(listen == {"listen.html", "clips", "pictures"}, f"planting left more in the listeners' folder: {listen}")
    check(all(p.read_bytes() == data for p, data in files.items()), "planting touched a recording")


def forgetting(folder, key):
    line = key[0]
    file = folder / line["recording"]
    before = file.read_bytes()
    # In its own folder, and in one above it, where offload keeps the sums of a whole deployment.
    lists = {file.parent: file.name, file.parent.parent: f"{file.parent.name}/{file.name}"}
    for place, name in lists.items():
        (place / "SHA256SUMS").write_text(f"{hashlib.sha256(before).hexdigest()}  {name}\n")
    said = run("listen", folder, "--forget", line["clip"], "--dry-run").stdout
    check("would silence" in said and line["recording"] in "".join(said.split("\n")), f"dry run of --forget: {said}")
    check(file.read_bytes() == before and not (folder / "hearwood/forgotten.csv").exists()
          and (folder / f"hearwood/listen/clips/{line['clip']}.wav").exists(), "--forget --dry-run silenced the recording")
    run("listen", folder, "--forget", line["clip"])
    after = file.read_bytes()
    first, last = (round(float(line[c]) * RATE) * 2 + 44 for c in ("from_s", "to_s"))
    check(after == before[:first] + bytes(last - first) + before[last:], "another stretch was silenced")
    check(not (folder / f"hearwood/listen/clips/{line['clip']}.wav").exists(), "the clip is still there")
    for place in lists:
        done = subprocess.run(["sha256sum", "-c", "--quiet", "SHA256SUMS"], cwd=place, capture_output=True)
        check(done.returncode == 0, f"SHA256SUMS was not renewed in {place}")
    log = table(folder / "hearwood/forgotten.csv")
    check(len(log) == 1 and log[0]["sha256_before"] == hashlib.sha256(before).hexdigest()
          and log[0]["sha256_after"] == hashlib.sha256(after).hexdigest(), f"log: {log}")
    run("forget", file, "--from", 1, "--to", 2.5, "--reason", "two people, talking")
    check(len(table(folder / "hearwood/forgotten.csv")) == 2, "the second line of the log")
    before_rows = list(csv.reader(open(folder / "hearwood/tables/segments.csv")))
    run("measure", folder, "--quiet")
    run("tabulate", folder, "--quiet")
    after_rows = list(csv.reader(open(folder / "hearwood/tables/segments.csv")))
    changed = {row[3] for row in before_rows if row not in after_rows}
    check(len(before_rows) == len(after_rows) and changed == {line["recording"]}, f"measured anew: {changed}")
    for bad in (("--from", 50, "--to", 40), ("--from", 70, "--to", 80)):
        run("forget", file, *bad, "--reason", "x", code=2)


def main():
    with tempfile.TemporaryDirectory(prefix="hearwood-listening-") as name:
        work = pathlib.Path(name)
        folder = work / "survey"
        calls = make_survey(folder)
        run("measure", folder, "--quiet")
        run("listen", folder, "--clips", 20, "--repeats", 4, "--seconds", 5, "--quiet")
        key = table(folder / "hearwood/listening_key.csv")
        drawn = [line for line in key if line["third"] != "-1"]
        check(len(drawn) == 24, f"{len(drawn)} clips of kept segments")
        for part, arguments in ((look_for_secrets, [key]), (scoring, [key, calls, work]), (refusals, [key, work]),
                                (planting, []), (forgetting, [key])):
            with going_on(part.__name__):
                part(folder, *arguments)
    return support.finish()


sys.exit(main())
