#!/usr/bin/python3
"""Holds the tables of a program for another processor to this one's: what it measured as near as rounding in single precision allows
(tests/rounding.py), and what it made of the same measurements to nine digits, for from there on everything is double precision.
    tables_alike.py PROGRAM SURVEY MEASURED_TABLES REMADE_TABLES
PROGRAM and SURVEY: this processor's, with its tables. MEASURED_TABLES: of the same recordings, measured by the other. REMADE_TABLES:
written by the other from SURVEY's own database."""
import pathlib
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import rounding  # noqa: E402
import support  # noqa: E402
from support import check  # noqa: E402

# A sum of a million terms in double precision is right to 1e6 * 2^-53 = 1e-10 of their size at worst; models divide a few of these.
DOUBLE = 1e-9


def number(text):
    try:
        return float(text)
    except ValueError:
        return None


# How the demo measures.
DEMO = "[measure]\nsegment_s = 6\n[bands]\nfrogs = [800, 2800]\ninsects = [4000, 10000]\n"


def demo_bounds(program, survey):
    """Of every fortieth recording; and the widest of each column, for the others, which the demo makes in the same way."""
    files = sorted((survey / "recordings").rglob("*.flac"))[::40]
    with tempfile.TemporaryDirectory() as scratch:
        bounds = rounding.bounds(program, files, pathlib.Path(scratch) / "draws", DEMO)
    widest = {}
    for row in bounds.values():
        for column, bound in row.items():
            widest[column] = max(widest.get(column, 0.0), bound)
    return bounds, widest


def hold_measured(program, survey, tables):
    bounds, widest = demo_bounds(program, survey)
    ours, theirs = (support.table(place / "segments.csv") for place in (survey / "hearwood" / "tables", tables))
    check(len(ours) == len(theirs) > 100, f"{len(theirs)} segments, here {len(ours)}")
    same, held, worst = 0, {}, {}
    for here, there in zip(ours, theirs):
        key = pathlib.Path(here["file"]).stem, here["channel"], here["segment"]
        for column, value in here.items():
            if value == there[column]:
                same += 1
                continue
            bound = bounds.get(key, widest).get(column.removeprefix("even_"))
            if not check(None not in (bound, number(value), number(there[column])), f"{key} {column}: {there[column]}, here {value}"):
                continue
            off = abs(float(there[column]) - float(value))
            check(off <= bound, f"{key} {column}: {there[column]}, here {value}, and rounding explains {bound}")
            held[column] = held.get(column, 0) + 1
            worst[column] = max(worst.get(column, 0.0), off / max(1, abs(float(value))))
    print(f"segments.csv: {same} values of {len(ours)} segments the same to the last digit, {sum(held.values())} as near as single "
          f"precision allows; {len(bounds)} segments held to bounds of their own; the largest differences: " +
          ", ".join(f"{column} {most:.1e}" for column, most in sorted(worst.items(), key=lambda item: -item[1])[:5]))


def hold_remade(ours, theirs):
    names = sorted(path.name for path in ours.glob("*.csv"))
    check(names == sorted(path.name for path in theirs.glob("*.csv")) and len(names) > 5, f"other tables than {names}")
    same = 0
    for name in names:
        here, there = support.table(ours / name), support.table(theirs / name)
        check(len(here) == len(there), f"{name}: {len(there)} rows, here {len(here)}")
        if (ours / name).read_bytes() == (theirs / name).read_bytes():
            same += 1
            continue
        for i, (one, other) in enumerate(zip(here, there)):
            for column, value in one.items():
                a, b = number(value), number(other[column])
                alike = value == other[column] or None not in (a, b) and abs(a - b) <= DOUBLE * max(1, abs(a))
                check(alike, f"{name} row {i + 1} {column}: {other[column]}, here {value}")
    print(f"of the same measurements {same} of {len(names)} tables are the same byte for byte, the others to nine digits")


hold_remade(pathlib.Path(sys.argv[2]) / "hearwood" / "tables", pathlib.Path(sys.argv[4]))
hold_measured(support.Program(sys.argv[1]), pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3]))
sys.exit(support.finish())
