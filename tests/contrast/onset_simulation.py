#!/usr/bin/env python3
"""The table of onset rules in docs/statistics.md, section 4: how often each claims another onset where the true ones are
equal and one class has four times the chorus, and how often it finds one that is 15 minutes earlier.

    onset_simulation.py [SURVEYS=1000] [SEED=1]

6 against 6 sites, 6 dates. A minute's value is Poisson-like: mean 2 at night, rising linearly over the ramp to 2 and the
chorus' height, normal with the variance of its mean; heights scatter by 20 % and onsets by 4 minutes between sites, onsets by 5
between dates. Independent of the program: vectors of numpy, all mornings at once. tests/contrast/onset_test.cpp does the same
with the program's own rule.
"""
import itertools
import sys

import numpy as np

SURVEYS, SEED = int(sys.argv[1]) if len(sys.argv) > 1 else 1000, int(sys.argv[2]) if len(sys.argv) > 2 else 1
SITES, DATES, STEP = 6, 6, 5
FIRST, LAST = -180, 90  # minutes from sunrise


def mornings(rng, ramp, every, shift):
    """Means of 5-minute steps: survey, site (class A first), date, step."""
    is_a = np.arange(2 * SITES) < SITES
    site = -35 + 4 * rng.standard_normal((SURVEYS, 2 * SITES)) + np.where(is_a, shift, 0)
    height = 8 * np.exp(0.2 * rng.standard_normal(site.shape)) * np.where(is_a, 4, 1)
    onset = site[..., None] + 5 * rng.standard_normal((*site.shape, DATES))
    steps = np.empty((*onset.shape, (LAST - FIRST) // STEP), np.float32)
    for k in range(steps.shape[-1]):
        total = 0
        minutes = np.arange(FIRST + STEP * k, FIRST + STEP * (k + 1), every) + 0.5
        for minute in minutes:
            mean = 2 + height[..., None] * np.clip((minute - onset) / ramp, 0, 1)
            total = total + mean + np.sqrt(mean) * rng.standard_normal(mean.shape, np.float32)
        steps[..., k] = total / len(minutes)
    return steps


def at(minute):
    return (minute - FIRST) // STEP


def onsets(steps, rule):
    """First step of [-90, 60) from which three in a row of the smoothed ones lie above; the one before does not."""
    night = steps[..., :at(-90)]
    level = np.median(night, -1)
    smooth = np.median(np.stack([steps[..., :-2], steps[..., 1:-1], steps[..., 2:]]), 0)
    smooth = np.concatenate([steps[..., :1], smooth, steps[..., -1:]], -1)
    if rule == "deviations":
        threshold = level + 3 * 1.4826 * np.median(np.abs(night - level[..., None]), -1)
        rises = np.ones(level.shape, bool)
    else:
        rise = np.quantile(smooth[..., at(-30):at(60)], 0.9, axis=-1) - level
        rises = rise >= 3 * night.std(-1, ddof=1)
        threshold = level + rule * rise
    above = smooth > threshold[..., None]
    stays = above[..., :-2] & above[..., 1:-1] & above[..., 2:]
    inside = stays[..., at(-90):at(60)]
    first = inside.argmax(-1)
    before = np.take_along_axis(above, (first + at(-90) - 1)[..., None], -1)[..., 0]
    good = inside.any(-1) & ~before & rises
    return np.where(good, -90.0 + STEP * first, np.nan)


def claims(values):
    """Share of surveys with p <= 0.05 over all 924 permutations; values: survey, site."""
    groups = np.array([[i in group for i in range(2 * SITES)] for group in itertools.combinations(range(2 * SITES), SITES)], float)
    sums = values @ groups.T
    differences = np.abs(2 * sums - values.sum(1, keepdims=True))
    return np.mean(np.mean(differences >= differences[:, :1] * (1 - 1e-9), 1) <= 0.05)


def main():
    rng = np.random.default_rng(SEED)
    print(f"{SURVEYS} surveys, seed {SEED}; per cent that claim another onset: where the true ones are equal / 15 minutes apart\n")
    rules = {"3 scaled deviations above the night": "deviations", "half of the rise": 0.5, "a quarter of the rise": 0.25}
    cells = {name: [] for name in rules}
    heads = []
    for every, ramp in itertools.product((1, 5), (10, 40)):
        heads.append(f"ramp of {ramp} min, {'every minute' if every == 1 else 'one minute in five'}")
        equal, apart = mornings(rng, ramp, every, 0), mornings(rng, ramp, every, -15)
        for name, rule in rules.items():
            shares = []
            for steps in (equal, apart):
                of_sites = np.nanmean(onsets(steps, rule), -1)
                whole = ~np.isnan(of_sites).any(1)
                shares.append(f"{100 * claims(of_sites[whole]):.0f}")
            cells[name].append(" / ".join(shares))
    print("| onset | " + " | ".join(heads) + " |\n|" + "---|" * (len(heads) + 1))
    for name, row in cells.items():
        print(f"| {name} | " + " | ".join(row) + " |")


if __name__ == "__main__":
    main()
