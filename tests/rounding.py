"""By how much two builds of the program may differ on the same recording, with nothing wrong in either: derived for each value of
each segment, not read off from what they did.

A transform in single precision is backward stable: what it gives is the exact transform of samples that differ from those given
by a share of their norm that grows with log2 N (N. J. Higham, Accuracy and Stability of Numerical Algorithms, 2nd ed. 2002,
theorem 24.2: at most 6.7 u log2 N in the worst case; its root mean square with accurate factors is of the order of u sqrt(log2 N),
J. C. Schatzman, SIAM J. Sci. Comput. 17, 1996; both from memory). Here the latter is taken, with u = 2^-24 and N = 2048, the longest
frame and the longest usual block of a lossy codec, whose decoder transforms in single precision too. White noise of that share is
added to the samples; the program measures them in double precision; and by what the values move, at most in so many draws, two
roundings may move them too, once in either build: an index that weighs all bins alike by more where half the bins are all but
empty, a level of a band by more where that band is, a count where a threshold lies within the rounding. (Perturbing the
data at the size of the rounding to see what is left of a result: D. S. Parker, Monte Carlo arithmetic, 1997, from memory.)

Sums are the other source: up to 36 terms are added in single precision before double takes over (32 frames of a batch, a sixteenth of
a frame and four). Rounding errors of n additions add up to about sqrt(n) u of the sum (N. J. Higham, T. Mary, SIAM J. Sci. Comput. 41,
2019, from memory), and a relative error r of a power is one of 10 log10(e) r in decibels."""
import csv
import math
import pathlib
import shutil
import sys

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent))
import support  # noqa: E402

UNIT = 2.0**-24
DRAWS = 8
BUILDS = 2
SHARE = UNIT * math.sqrt(math.log2(2048))
SUM = BUILDS * math.sqrt(36) * UNIT
SUM_DB = 10 * math.log10(math.e) * SUM
DOUBLE = 1e-12  # what is left of double precision and of a mathematical library's last bit after a few thousand operations
# Counts, and sums of whole numbers below 2^24: exact in single precision too.
EXACT = {"adi", "aei", "standout", "events", "peak_dbfs", "dc_offset", "clipped_fraction", "silent_share"}
# Levels; differences of two levels; and the area below a spectrum 6 kHz wide less its least level.
DECIBELS = {"leq_dbfs": 1, "l10_dbfs": 1, "l50_dbfs": 1, "l90_dbfs": 1, "air_dbfs": 1, "flatness_db": 2, "tilt": 2, "surge": 2, "swing": 2,
            "flicker": 2, "slope": 2, "hump": 2, "rumble": 2, "gust": 2, "bi": 2 * 6}
# The steepest of their terms: 30 over a tenth of `lines` (src/screen/scores.cpp), which has no unit.
SCORES = {"rain_score": 300, "engine_score": 300}
BEFORE, BEHIND = "minutes_from_sunrise", "even_aci"


def measured_columns(header):
    return header[header.index(BEFORE) + 1:header.index(BEHIND)]


def of_sums(column, value):
    if column in EXACT:
        return DOUBLE * max(1, abs(value))
    if column in DECIBELS:
        return SUM_DB * DECIBELS[column]
    # A quotient or a product of two sums.
    return 2 * SUM * SCORES.get(column, max(1, abs(value)))


def perturbed(x, random):
    """White noise of SHARE of what is there, in stretches of a frame; digital silence stays silent, for 0 has no rounding."""
    noise = random.standard_normal(x.shape, dtype=np.float32)
    for start in range(0, len(x), 512):
        part = x[start:start + 512]
        noise[start:start + 512] *= SHARE * np.sqrt(np.mean(part**2, axis=0)) * (part != 0)
    return x + noise


def measured(program, files, folder, seed, rest):
    """{(name without ending, channel, segment): row} of the files in floating point, as they are where seed is 0."""
    sites = [{"site": f"S{i}", "nutrient_status": "rich" if i < 2 else "poor"} for i in range(4)]
    support.write_survey(folder, sites, rest=rest)
    random = np.random.default_rng(seed)
    for file in files:
        x, rate = support.read_sound(file)
        if seed:
            x = perturbed(x, random)
        sound = support.wav(np.ascontiguousarray(x, "<f4").tobytes(), rate=rate, channels=x.shape[1], sample_format=3, bits=32)
        (folder / "recordings" / "DS0" / f"{file.stem}.wav").write_bytes(sound)
    for command in ("measure", "tabulate"):
        program(command, folder, "--quiet", code=None)
    rows = support.table(folder / "hearwood" / "tables" / "segments.csv")
    shutil.rmtree(folder)  # before the next: these are large
    return {(pathlib.Path(row["file"]).stem, row["channel"], row["segment"]): row for row in rows}


def bounds(program, files, scratch, rest=""):
    """{(name without ending, channel, segment): {column: bound}}; scratch: a folder that does not exist yet; rest: more lines of
    survey.toml."""
    draws = [measured(program, files, pathlib.Path(scratch) / f"draw{seed}", seed, rest) for seed in range(DRAWS + 1)]
    result = {}
    for key, row in draws[0].items():
        result[key] = {}
        for column in measured_columns(list(row)):
            values = [float(draw[key][column] or "nan") for draw in draws]
            moved = max(abs(value - values[0]) for value in values[1:])
            if not math.isnan(values[0]):
                # Missing in one draw and there in another: nothing can be said.
                result[key][column] = math.inf if math.isnan(moved) else BUILDS * moved + of_sums(column, values[0])
    return result


def write_bounds(program, files, scratch, out):
    """The same as a table: recording (name without ending), channel, segment, and a column for each column."""
    found = bounds(program, files, scratch)
    columns = list(dict.fromkeys(column for row in found.values() for column in row))
    with open(out, "w", newline="", encoding="utf-8") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(["recording", "channel", "segment", *columns])
        for key, row in found.items():
            table.writerow([*key, *("Infinity" if row.get(column) == math.inf else row.get(column, "") for column in columns)])
