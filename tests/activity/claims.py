#!/usr/bin/env python3
"""How often an index claims a difference where none is, plain and on even terms: see claims.sh.

    claims.py BUILD [--pools 4] [--draws 10] [--sites 4 6] [--minutes 3] [--calls 25] [--choir-share 0.25] [--seed 1]
              [--only NAME]...

A pool is 16 sites, each with its own calls (one rate for all), ambient noise and recorder, and every site once more with
each disturbance: one survey, measured once. A draw gives sites of the one kind to the first class and others, undisturbed,
to the second, and runs hearwood even. Its site means are compared as `contrast` compares them, by every permutation of
the sites; the first draw of each run asks `contrast` too and stops where the p values are not the same. Printed is the
share of draws, in per cent, whose p is 0.05 or less; with twice the calls at the first class, those of the right sign, and
behind a minus those of the wrong one.
"""
import argparse
import csv
import itertools
import os
import pathlib
import subprocess
import sys
import tempfile

import numpy as np
import scipy.fft
from scipy.io import wavfile
from scipy.ndimage import uniform_filter1d
from scipy.stats import spearmanr

RATE = 24000
SITES = 16
INDICES = ["aci", "ndsi", "bi", "standout", "events", "solo_events", "even_aci", "even_ndsi", "even_bi", "even_standout",
           "even_events"]
TRUTH = "true number"


# ---- sounds -------------------------------------------------------------------------------------------------------

def shaped_noise(rng, count, db_at):
    """Gaussian noise whose density is db_at(f) dB."""
    f = np.fft.rfftfreq(count, 1 / RATE)
    lines = (rng.standard_normal(2 * len(f), np.float32)).view(np.complex64)
    return scipy.fft.irfft(lines * (10 ** (db_at(np.maximum(f, 20)) / 20)).astype(np.float32), count) * np.sqrt(count)


def tone(hz, length, rng, harmonics=1):
    """A gliding tone: hz is a list of frequencies that it passes through."""
    n = int(length * RATE)
    f = np.interp(np.linspace(0, 1, n), np.linspace(0, 1, len(hz)), hz)
    phase = 2 * np.pi * np.cumsum(f) / RATE
    x = sum(np.sin(h * phase) / h for h in range(1, harmonics + 1) if h * max(hz) < 11000)
    edge = np.minimum(1, np.minimum(np.arange(n), n - np.arange(n)) / (0.01 * RATE))
    return x * edge


def synthetic_call(rng):
    base = np.exp(rng.uniform(np.log(1200), np.log(6500)))
    kind = rng.integers(4)
    if kind == 0:
        return tone([base, base * rng.uniform(0.8, 1.25)], rng.uniform(0.15, 0.6), rng)
    if kind == 1:  # a trill
        note = tone([base, base * 1.1], 0.09, rng)
        return np.tile(np.concatenate([note, np.zeros(int(0.03 * RATE))]), rng.integers(3, 8))
    if kind == 2:
        return tone([base, base * 1.4, base * 0.9], rng.uniform(0.2, 0.5), rng)
    return tone([base * 0.6, base * 0.7], rng.uniform(0.15, 0.4), rng, 3)


def real_calls(rng):
    """Pieces of the CC0 bird and rooster recordings around their loudest moments."""
    folder = os.environ.get("HEARWOOD_REAL_AUDIO")
    if not folder:
        return []
    with open(pathlib.Path(folder) / "ATTRIBUTION.csv", encoding="utf-8") as sheet:
        files = [row["file"] for row in csv.DictReader(sheet)
                 if row["licence"] == "CC0" and row["file"].split("/")[0] in ("birds", "rooster")]
    calls = []
    for name in files:
        raw = subprocess.run(["sox", pathlib.Path(folder) / name, "-t", "f32", "-r", str(RATE), "-c", "1", "-"],
                             capture_output=True, check=True).stdout
        x = np.frombuffer(raw, np.float32).astype(float)
        level = uniform_filter1d(x ** 2, 2400)
        for _ in range(6):
            at = int(level.argmax())
            piece = x[max(0, at - 6000):at + 6000]
            level[max(0, at - 12000):at + 12000] = 0
            if len(piece) > 4000 and np.abs(piece).max() > 0:
                calls.append(piece * np.hanning(len(piece)) / np.abs(piece).max())
    return calls


def call_track(rng, count, rate_a_minute, calls):
    """Calls over distances of 8 to 80 m, and the same calls through a denser stand; and how many they are."""
    open_stand, dense = np.zeros(count), np.zeros(count)
    number = rng.poisson(rate_a_minute * count / RATE / 60)
    for _ in range(number):
        call = calls[rng.integers(len(calls))] if calls and rng.random() < 0.3 else synthetic_call(rng)
        at = rng.integers(0, count - len(call))
        call = 0.5 * call / rng.uniform(8, 80)
        open_stand[at:at + len(call)] += call
        dense[at:at + len(call)] += call * 10 ** (rng.uniform(-12, -6) / 20)
    return open_stand, dense, number


def stream(rng, count):
    level, top = rng.uniform(-72, -66), rng.uniform(3000, 7000)
    return shaped_noise(rng, count, lambda f: level - 6 * np.log2(np.maximum(1, f / top)) - 3 * np.abs(np.log2(f / 1000)))


def wind(rng, count):
    x = shaped_noise(rng, count, lambda f: -52 - 9 * np.log2(np.maximum(1, f / 150)))
    steps = rng.uniform(0.1, 1, count // RATE + 2)
    return x * np.interp(np.arange(count) / RATE, np.arange(len(steps)), steps)


def recorder(rng, count):
    level = rng.uniform(-83, -79)
    return shaped_noise(rng, count, lambda f: level + 0 * f)


def crickets(rng, count):
    x = np.zeros(count)
    for _ in range(2):
        hz, period = rng.uniform(4000, 5200), rng.uniform(0.35, 0.6)
        chirp = np.concatenate([np.concatenate([tone([hz, hz], 0.022, rng), np.zeros(int(0.012 * RATE))]) for _ in range(4)])
        for at in np.arange(0, count / RATE - 1, period):
            i = int((at + rng.normal(0, 0.01)) * RATE)
            if 0 <= i < count - len(chirp):
                x[i:i + len(chirp)] += 0.012 * chirp
    return x


def cicadas(rng, count):
    low = rng.uniform(4500, 6000)
    x = shaped_noise(rng, count, lambda f: np.where((f > low) & (f < low + 1500), -66.0, -150.0))
    return x * (1 + 0.3 * np.sin(2 * np.pi * rng.uniform(20, 60) * np.arange(count) / RATE))


def frogs(rng, count):
    x = np.zeros(count)
    for _ in range(5):
        hz, period = rng.uniform(1300, 2600), rng.uniform(0.5, 0.9)
        croak = tone([hz, hz * 1.05], 0.16, rng, 2)
        for at in np.arange(rng.uniform(0, period), count / RATE - 1, period):
            i = int((at + rng.normal(0, 0.04)) * RATE)
            if 0 <= i < count - len(croak):
                x[i:i + len(croak)] += 0.01 * croak
    return x


DISTURBANCES = {"nothing": None, "stream": stream, "wind": wind, "noisier recorders": recorder, "crickets": crickets,
                "cicadas": cicadas, "frog choir": frogs, "denser stand": None, "twice the calls": None,
                "twice, under a stream": stream}


# ---- pools and draws ------------------------------------------------------------------------------------------------


class Pool:
    """A survey of all sites, plain and with every disturbance, measured once."""

    def __init__(self, folder, program, rng, args, names, calls):
        self.folder, self.program = folder, program
        self.kinds = ["plain", *(name for name in names if name != "nothing")]
        self.calls = {}  # of a kind, at each site
        for site in range(SITES):
            self.make_site(site, rng, int(args.minutes * 60 * RATE), args.calls, calls)
        with open(folder / "deployments.csv", "w", encoding="utf-8") as sheet:
            sheet.write("deployment,site,folder,gain_db\n")
            sheet.writelines(f"D{k}-{n},S{k}-{n},recordings/D{k}-{n},30\n" for k in range(len(self.kinds)) for n in range(SITES))
        (folder / "survey.toml").write_text(
            '[survey]\ntitle = "claims"\ntime_zone = "Asia/Kuching"\n[stands]\nfactor = "stand"\ncompare = ["a", "b"]\n'
            f"[activity]\nchoir_share = {args.choir_share}\n"
            "[screen]\nrain_excludes = false\n")  # what is left out would differ between the classes
        self.divide({("plain", site): "ab"[site % 2] for site in range(4)})
        self.run("measure", "--quiet")

    def make_site(self, site, rng, count, rate_a_minute, calls):
        level, hiss = rng.uniform(-86, -81), rng.uniform(-98, -94)
        ambient = shaped_noise(rng, count, lambda f: level - 4 * np.log2(np.maximum(1, f / 400)))
        ambient += shaped_noise(rng, count, lambda f: hiss + 0 * f)
        once, dense, number = call_track(rng, count, rate_a_minute, calls)
        more, _, added = call_track(rng, count, rate_a_minute, calls)
        for k, kind in enumerate(self.kinds):
            x = ambient + (dense if kind == "denser stand" else once)
            if kind.startswith("twice"):
                x += more
            if DISTURBANCES.get(kind):
                x += DISTURBANCES[kind](rng, count)
            self.calls[kind, site] = number + (added if kind.startswith("twice") else 0)
            here = self.folder / "recordings" / f"D{k}-{site}"
            here.mkdir(parents=True)
            wavfile.write(here / "R_20310504_060000.wav", RATE, np.clip(np.round(x * 32768), -32768, 32767).astype(np.int16))

    def divide(self, classes):
        """classes: of (kind, site)."""
        with open(self.folder / "sites.csv", "w", encoding="utf-8") as sheet:
            sheet.write("site,latitude,longitude,stand\n")
            for k, kind in enumerate(self.kinds):
                sheet.writelines(f"S{k}-{n},{2 + n / 20 + k / 1000},113,{classes.get((kind, n), 'spare')}\n" for n in range(SITES))

    def run(self, command, *options):
        done = subprocess.run([self.program, command, self.folder, *options], capture_output=True, text=True)
        if done.returncode > 1:
            sys.exit(f"hearwood {command}: {done.stderr}{done.stdout}")

    def draw(self, name, chosen, size):
        """Values of each index at the sites of the first class, then of the second."""
        first = [(name if name != "nothing" else "plain", int(n)) for n in chosen[:size]]
        second = [("plain", int(n)) for n in chosen[size:2 * size]]
        self.divide({**dict.fromkeys(first, "a"), **dict.fromkeys(second, "b")})
        self.run("even", "--quiet")
        with open(self.folder / "hearwood" / "tables" / "site_windows.csv", encoding="utf-8") as table:
            rows = {row["site"]: row for row in csv.DictReader(table) if row["window"] == "dawn"}
        named = [rows[f"S{self.kinds.index(kind)}-{n}"] for kind, n in first + second]
        values = {index: np.array([float(row[index] or "nan") for row in named]) for index in INDICES}
        return values | {TRUTH: np.array([self.calls[place] for place in first + second], float)}

    def check_against_contrast(self, values, size):
        self.run("contrast")
        with open(self.folder / "hearwood" / "tables" / "contrasts.csv", encoding="utf-8") as table:
            told = {row["index"]: row for row in csv.DictReader(table) if row["window"] == "dawn"}
        for index in INDICES:
            if told[index]["p"] and abs(float(told[index]["p"]) - permuted(values[index], size)[0]) > 1e-9:
                sys.exit(f"{index}: contrast has p {told[index]['p']}, here it is {permuted(values[index], size)[0]}")


def permuted(values, size):
    """p over all permutations of the sites, of the difference of means; and the difference."""
    if np.isnan(values).any():
        return float("nan"), float("nan")
    total, seen = values.sum(), values[:size].sum() / size - values[size:].mean()
    sums = np.array([sum(group) for group in itertools.combinations(values, size)])
    differences = sums / size - (total - sums) / (len(values) - size)
    return np.mean(np.abs(differences) >= abs(seen) * (1 - 1e-9)), seen


class Count:
    """Of an index under a disturbance with so many sites."""

    def __init__(self):
        self.tested = self.up = self.down = 0

    def add(self, p, difference):
        if np.isnan(p):
            return
        self.tested += 1
        self.up += p <= 0.05 and difference > 0
        self.down += p <= 0.05 and difference < 0

    def share(self, right_sign_only):
        if self.tested == 0:
            return "–"
        if not right_sign_only:
            return f"{100 * (self.up + self.down) / self.tested:.0f}"
        wrong = f"−{100 * self.down / self.tested:.0f}" if self.down else ""
        return f"{100 * self.up / self.tested:.0f}{wrong}"


def print_table(names, sizes, counts):
    print("\n| " + " | ".join(["", *names]) + " |\n|" + "---|" * (len(names) + 1))
    for index in [*INDICES, TRUTH]:
        cells = []
        for name in names:
            shares = [counts[name, index, size].share(name.startswith("twice")) for size in sizes]
            cells.append("/".join(shares))
        print("| " + " | ".join([index, *cells]) + " |")


def print_pooled(names, sizes, counts):
    """All draws together in which only what sounds beside the calls differed; the error is that of a binomial share."""
    alike = [name for name in names if name != "denser stand" and not name.startswith("twice")]
    print("\nclaims in all draws with equal calls through equal stands:")
    for index in [*INDICES, TRUTH]:
        chosen = [counts[name, index, size] for name in alike for size in sizes]
        tested, claimed = sum(c.tested for c in chosen), sum(c.up + c.down for c in chosen)
        share = claimed / max(1, tested)
        print(f"{index}: {claimed} of {tested}, {100 * share:.0f} +- {100 * np.sqrt(share * (1 - share) / max(1, tested)):.0f} %")


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("build", type=pathlib.Path, help="the build folder, or the program itself")
    parser.add_argument("--pools", type=int, default=4)
    parser.add_argument("--draws", type=int, default=10, help="of each pool, disturbance and number of sites")
    parser.add_argument("--sites", type=int, nargs="+", default=[4, 6])
    parser.add_argument("--minutes", type=float, default=3)
    parser.add_argument("--calls", type=float, default=25, help="a minute at every site, before they are doubled")
    parser.add_argument("--choir-share", type=float, default=0.25, help="1: no band is a choir's")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", action="append")
    args = parser.parse_args()
    program = args.build if args.build.is_file() else next(p for p in (args.build / "src" / "hearwood", args.build / "hearwood") if p.exists())
    names = [name for name in DISTURBANCES if not args.only or name in args.only]
    rng = np.random.default_rng(args.seed)
    calls = real_calls(rng)
    print(f"{args.pools} pools of {SITES} sites, {args.draws} draws each, {' and '.join(map(str, args.sites))} sites a class, "
          f"{args.minutes:g} minutes a site, {args.calls:g} calls a minute, choirs from {args.choir_share:g}, seed {args.seed}, {len(calls)} pieces of real calls", flush=True)
    counts = {(name, index, size): Count() for name in names for index in [*INDICES, TRUTH] for size in args.sites}
    even = []  # rank correlations with the true number, draw by draw
    checked = False
    for pool_number in range(args.pools):
        with tempfile.TemporaryDirectory() as scratch:
            pool = Pool(pathlib.Path(scratch), program.resolve(), rng, args, names, calls)
            for name, size in itertools.product(names, args.sites):
                for _ in range(args.draws):
                    values = pool.draw(name, rng.permutation(SITES), size)
                    if not checked:
                        pool.check_against_contrast(values, size)
                        checked = True
                    for index in values:
                        counts[name, index, size].add(*permuted(values[index], size))
                    if name.startswith("twice"):
                        even.append(spearmanr(values["even_events"], values[TRUTH]).statistic)
        print(f"pool {pool_number + 1} done", file=sys.stderr, flush=True)
        print_table(names, args.sites, counts)
        print_pooled(names, args.sites, counts)
        if even:
            print(f"\nrank correlation of even_events with the true number in draws with twice the calls: median {np.nanmedian(even):.2f}", flush=True)


if __name__ == "__main__":
    main()
