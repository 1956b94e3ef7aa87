"""The additive model against numpy: lstsq (least norm) on the whole design matrix of dummies, estimability
by projection onto its row space. Random designs, thin enough that many fall apart into groups."""
import os
import pathlib
import subprocess
import sys

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).parents[1] / "bench"))
from site_values import additive as reference  # noqa: E402

driver, folder = sys.argv[1:3]
os.makedirs(folder, exist_ok=True)
random = np.random.default_rng(20310504)


worst, apart, whole = 0.0, 0, 0
for trial in range(150):
    sites, dates, cells = random.integers(2, 8), random.integers(1, 9), random.integers(1, 7)
    every = [(s, d, c) for s in range(sites) for d in range(dates) for c in range(cells)]
    share = random.choice([0.12, 0.25, 0.5, 0.9])
    rows = [row for row in every if random.random() < share]
    values = [random.normal(1e3 if k == 1 else 0, 2, len(rows)) for k in range(3)]
    if rows:
        values[2][random.random(len(rows)) < 0.2] = np.nan
    path = os.path.join(folder, "rows.txt")
    with open(path, "w") as file:
        print(sites, 3, file=file)
        for i, (s, d, c) in enumerate(rows):
            print(s, 100 + 7 * d, c - 2,
                  *("NA" if np.isnan(v[i]) else repr(float(v[i])) for v in values), file=file)
    got = subprocess.run([driver, path], check=True, capture_output=True, text=True).stdout.split("\n")
    for k in range(3):
        there = ~np.isnan(values[k]) if rows else []
        want = reference([r for r, t in zip(rows, there) if t], values[k][there] if rows else [], sites)
        for s in range(sites):
            _, _, value, count, comparable, leans = got[k * sites + s].split()
            assert (int(count), int(comparable)) == want[s][1:3], (trial, k, s, got[k * sites + s], want[s])
            for a, b in ((float(value), want[s][0]), (float(leans), want[s][3])):
                assert np.isnan(a) == np.isnan(b), (trial, k, s, a, b)
                if not np.isnan(a):
                    worst = max(worst, abs(a - b) / max(1, abs(b)))
            whole += want[s][2]
            apart += want[s][1] > 0 and not want[s][2]
assert whole > 500 and apart > 100, (whole, apart)
# Both sides lose a few digits to the conditioning of thin designs.
assert worst < 1e-9, worst
print(f"{whole} values and {apart} sites without one agree with numpy; largest relative distance {worst:.2g}")
