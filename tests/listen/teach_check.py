"""`hearwood listen --teach`: the fit against scipy.optimize, the sites left out, and what --keep writes and changes.

    teach_check.py HEARWOOD
"""
import pathlib
import sys
import tempfile
import tomllib

import numpy as np
import scipy.optimize

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from round_trip_answers import write_answers  # noqa: E402
from support import check, near, table  # noqa: E402

HEARWOOD = sys.argv[1]
RATE, SEGMENT = 16000, 10
QUANTITIES = ["patter", "memory", "tail", "crackle", "tilt", "surge", "drops", "throb", "hum", "whine", "lines", "swing", "flicker",
              "slope", "rumble", "gust"]
RIDGES = [1, 3, 10, 30, 100]
run = support.Program(HEARWOOD)


def segment(rng, rain):
    """Noise with calls; rain adds many short broadband clicks, of all strengths."""
    x = rng.standard_normal(RATE * SEGMENT) * rng.uniform(0.002, 0.006)
    t = np.arange(int(0.2 * RATE)) / RATE
    for at in rng.integers(0, len(x) - len(t), rng.integers(0, 12)):
        x[at:at + len(t)] += 0.05 * np.sin(2 * np.pi * (2000 + 3000 * t) * t) * np.hanning(len(t))
    if rain:
        for at in rng.integers(0, len(x) - 40, int(rng.uniform(500, 4000))):
            x[at:at + 40] += rng.exponential(0.01) * rng.standard_normal(40) * np.exp(-np.arange(40) / 8)
    return np.clip(np.round(x * 32767), -32768, 32767)


def make_survey(folder):
    """Five sites, three files of eight segments each; returns (file, segment) -> rain."""
    names = [f"S{i}" for i in range(5)]
    support.write_survey(folder, [{"site": n, "nutrient_status": "rich" if i % 2 else "poor"} for i, n in enumerate(names)],
                         rest=f"[measure]\nsegment_s = {SEGMENT}\n[screen]\nrain_nearby_weight = 0\n")
    truth = {}
    for i, name in enumerate(names):
        for hour in (9, 10, 11):
            rng = np.random.default_rng(10 * i + hour)
            rainy = rng.random(8) < 0.4
            path = folder / f"recordings/D{name}/D{name}_20310504_{hour:02d}0000.wav"
            support.write_wave(path, np.concatenate([segment(rng, wet) for wet in rainy]).astype("<i2"), RATE)
            for k, wet in enumerate(rainy):
                # Ears err: one clip in twelve is labelled the other way round.
                truth[path.relative_to(folder).as_posix(), k] = bool(wet) != (rng.random() < 1 / 12)
    return truth


def fit(x, y, ridge):
    """Constant and weights in the quantities' own units."""
    middle, spread = x.mean(0), x.std(0)
    z = (x - middle) / np.where(spread > 0, spread, 1)

    def loss(b):
        score = z @ b[1:] + b[0]
        p = 1 / (1 + np.exp(-score))
        value = np.sum(np.logaddexp(0, score) - y * score) + ridge / 2 * np.sum(b[1:] ** 2)
        return value, np.concatenate([[np.sum(p - y)], z.T @ (p - y) + ridge * b[1:]])

    b = scipy.optimize.minimize(loss, np.zeros(x.shape[1] + 1), jac=True, method="BFGS", options={"gtol": 1e-9, "maxiter": 5000}).x
    weights = np.where(spread > 0, b[1:] / np.where(spread > 0, spread, 1), 0)
    return b[0] - weights @ middle, weights


def likelihood(x, y, sites, ridge):
    total = 0
    for site in set(sites):
        out = sites == site
        if len(set(y[~out])) < 2:
            continue
        start, weights = fit(x[~out], y[~out], ridge)
        score = x[out] @ weights + start
        total += np.sum(y[out] * score - np.logaddexp(0, score))
    return total


def fitted(x, y, sites):
    return fit(x, y, max(RIDGES, key=lambda ridge: likelihood(x, y, sites, ridge)))


def shares(flagged, y):
    return (flagged & y).sum() / flagged.sum(), (flagged & y).sum() / y.sum()


def main():
    with tempfile.TemporaryDirectory() as scratch:
        folder = pathlib.Path(scratch) / "survey"
        truth = make_survey(folder)
        run("run", folder, "--quiet", code=None)
        run("listen", folder, "--clips", 70, "--screened", 30, "--repeats", 0, "--seconds", 5, "--quiet", code=None)
        key = table(folder / "hearwood/listening_key.csv")
        done = run("listen", folder, "--teach", code=2)
        check("score" in done.stderr, f"without answers: {done.stderr}")
        answers = {line["clip"]: {"rain": truth[line["recording"], int(line["segment"])], "kinds": 1, "fullness": 1} for line in key}
        file = pathlib.Path(scratch) / "answers.csv"
        write_answers(file, key, "AB", answers)
        run("listen", folder, "--score", file)
        before = (folder / "survey.toml").read_text()
        done = run("listen", folder, "--teach")
        print(done.stdout)
        check((folder / "survey.toml").read_text() == before, "--teach alone changed survey.toml")
        check("not taught: fewer than 8 clips have it" in done.stdout, "engines were taught from nothing")

        segments = {(r["file"], r["segment"]): r for r in table(folder / "hearwood/tables/segments.csv")}
        rows = [segments[line["recording"], line["segment"]] for line in key]
        x = np.array([[float(r[q]) for q in QUANTITIES] for r in rows])
        y = np.array([truth[r["file"], int(r["segment"])] for r in rows])
        sites = np.array([r["site"] for r in rows])
        taught = np.zeros(len(y), bool)
        for site in set(sites):
            out = sites == site
            start, weights = fitted(x[~out], y[~out], sites[~out])
            taught[out] = x[out] @ weights + start > 0
        fixed = np.array(["rain" in r["flags"].split(";") for r in rows])
        words = next(line.split() for line in done.stdout.splitlines() if line.startswith("rain"))
        check(int(words[1]) == y.sum(), f"{words[1]} clips with rain, not {y.sum()}")
        for got, want in zip((words[2], words[3], words[5], words[6]), (*shares(fixed, y), *shares(taught, y))):
            near(float(got), want, "precision or recall", 0.0051)

        run("listen", folder, "--teach", "--keep")
        text = (folder / "survey.toml").read_text()
        check(text.startswith(before), "what stood in survey.toml was changed")
        kept = tomllib.loads(text)["taught_rain"]
        start, weights = fitted(x, y, sites)
        near(kept["constant"], start, "constant", 1e-4)
        for name, weight in zip(QUANTITIES, weights):
            near(kept[name], weight, name, 1e-4)
        check("date" in kept, "no date")
        run("listen", folder, "--teach", "--keep")
        check((folder / "survey.toml").read_text() == text, "kept twice, the file differs")
        run("tabulate", folder, "--quiet", code=None)
        for r in table(folder / "hearwood/tables/segments.csv"):
            due = start + sum(w * float(r[q]) for q, w in zip(QUANTITIES, weights)) > 0
            check(("rain" in r["flags"].split(";")) == due, f"{r['file']} {r['segment']}: the taught rule did not judge")
    return support.finish()


if __name__ == "__main__":
    sys.exit(main())
