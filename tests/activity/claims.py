#!/usr/bin/env python3
"""How often an index claims a difference where none is, plain and on even terms: see claims.sh.

    claims.py BUILD [--pools 4] [--draws 10] [--sites 4] [--minutes 3] [--seed 1] [--only NAME]...

A pool is 16 sites, each with its own calls (one rate for all), ambient noise and recorder. A draw takes so many sites
for each class, gives those of the first class the disturbance, and runs hearwood measure, even and contrast on them. Printed is the share of draws, in per cent, whose p is 0.05 or less in the window of the recordings.
"""
import argparse
import csv
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

import numpy as np
from scipy.io import wavfile

RATE = 24000
SITES = 16
INDICES = ["aci", "ndsi", "bi", "standout", "events", "solo_events", "even_aci", "even_ndsi", "even_bi", "even_standout",
           "even_events"]
CALLS_A_MINUTE = 25


# ---- sounds -------------------------------------------------------------------------------------------------------

def shaped_noise(rng, count, db_at):
    """Gaussian noise whose density is db_at(f) dB."""
    f = np.fft.rfftfreq(count, 1 / RATE)
    lines = rng.standard_normal(len(f)) + 1j * rng.standard_normal(len(f))
    return np.fft.irfft(lines * 10 ** (db_at(np.maximum(f, 20)) / 20), count) * np.sqrt(count)


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
        level = np.convolve(x ** 2, np.ones(2400) / 2400, "same")
        for _ in range(6):
            at = int(level.argmax())
            piece = x[max(0, at - 6000):at + 6000]
            level[max(0, at - 12000):at + 12000] = 0
            if len(piece) > 4000:
                calls.append(piece * np.hanning(len(piece)) / np.abs(piece).max())
    return calls


def call_track(rng, count, rate_a_minute, calls):
    x = np.zeros(count)
    for _ in range(rng.poisson(rate_a_minute * count / RATE / 60)):
        call = calls[rng.integers(len(calls))] if calls and rng.random() < 0.3 else synthetic_call(rng)
        at = rng.integers(0, count - len(call))
        distance = rng.uniform(8, 80)
        x[at:at + len(call)] += 0.5 * call / distance
    return x


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
                "cicadas": cicadas, "frog choir": frogs, "twice the calls": None, "twice, under a stream": stream}


# ---- pools and draws ------------------------------------------------------------------------------------------------

def make_pool(folder, rng, minutes, names, calls):
    """WAV files SITE-plain.wav and SITE-DISTURBANCE.wav."""
    count = int(minutes * 60 * RATE)
    for site in range(SITES):
        ambient_level, hiss = rng.uniform(-86, -81), rng.uniform(-98, -94)
        ambient = shaped_noise(rng, count, lambda f: ambient_level - 4 * np.log2(np.maximum(1, f / 400)))
        ambient += shaped_noise(rng, count, lambda f: hiss + 0 * f)
        once, more = (call_track(rng, count, CALLS_A_MINUTE, calls) for _ in range(2))
        for name in ["plain", *names]:
            x = ambient + once
            if name.startswith("twice"):
                x = x + more
            if DISTURBANCES.get(name):
                x = x + DISTURBANCES[name](rng, count)
            codes = np.clip(np.round(x * 32768), -32768, 32767).astype(np.int16)
            wavfile.write(folder / f"{site}-{name}.wav", RATE, codes)


def survey_of(folder, pool, name, first, second, seed):
    folder.mkdir()
    (folder / "survey.toml").write_text(
        '[survey]\ntitle = "claims"\ntime_zone = "Asia/Kuching"\n[stands]\nfactor = "stand"\ncompare = ["a", "b"]\n'
        f'[contrast]\nseed = {seed}\n[screen]\nrain_excludes = false\n')
    sites, deployments = "site,latitude,longitude,stand\n", "deployment,site,folder,gain_db\n"
    for stand, chosen in (("a", first), ("b", second)):
        for site in chosen:
            sites += f"S{site},{2 + site / 20},113,{stand}\n"
            deployments += f"D{site},S{site},recordings/D{site},30\n"
            here = folder / "recordings" / f"D{site}"
            here.mkdir(parents=True)
            os.link(pool / f"{site}-{name if stand == 'a' and name != 'nothing' else 'plain'}.wav", here / "R_20310504_060000.wav")
    (folder / "sites.csv").write_text(sites)
    (folder / "deployments.csv").write_text(deployments)


def p_values(program, folder):
    for command in ("measure", "even", "contrast"):
        done = subprocess.run([program, command, folder, *(["--quiet"] if command != "contrast" else [])], capture_output=True, text=True)
        if done.returncode > 1:
            sys.exit(f"hearwood {command}: {done.stderr}{done.stdout}")
    with open(folder / "hearwood" / "tables" / "contrasts.csv", encoding="utf-8") as table:
        return {row["index"]: (float(row["p"]), float(row["difference"])) for row in csv.DictReader(table)
                if row["window"] == "dawn" and row["p"]}


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("build", type=pathlib.Path)
    parser.add_argument("--pools", type=int, default=4)
    parser.add_argument("--draws", type=int, default=10)
    parser.add_argument("--sites", type=int, default=4)
    parser.add_argument("--minutes", type=float, default=3)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", action="append")
    args = parser.parse_args()
    names = [name for name in DISTURBANCES if not args.only or name in args.only]
    rng = np.random.default_rng(args.seed)
    calls = real_calls(rng)
    print(f"{args.pools} pools, {args.draws} draws each, {args.sites} against {args.sites} sites, seed {args.seed}, "
          f"{len(calls)} pieces of real calls", flush=True)
    claims = {name: {index: [0, 0, 0] for index in INDICES} for name in names}  # shown, with the calls' sign, tested
    for pool_number in range(args.pools):
        with tempfile.TemporaryDirectory() as scratch:
            pool = pathlib.Path(scratch)
            make_pool(pool, rng, args.minutes, [n for n in names if n != "nothing"], calls)
            for name in names:
                for draw in range(args.draws):
                    order = rng.permutation(SITES)
                    folder = pool / "survey"
                    survey_of(folder, pool, name, order[:args.sites], order[args.sites:2 * args.sites], draw + 1)
                    for index, (p, difference) in p_values(args.build / "hearwood", folder).items():
                        if index in INDICES:
                            claims[name][index][0] += p <= 0.05
                            claims[name][index][1] += p <= 0.05 and difference > 0
                            claims[name][index][2] += 1
                    shutil.rmtree(folder)
    print(f"{'':24s}" + "".join(f"{index[:13]:>14s}" for index in INDICES))
    for name in names:
        cells = []
        for index in INDICES:
            shown, up, tested = claims[name][index]
            cells.append(f"{'-' if tested == 0 else f'{100 * shown / tested:.0f} ({100 * up / tested:.0f} up)':>14s}")
        print(f"{name:24s}" + "".join(cells), flush=True)


if __name__ == "__main__":
    main()
