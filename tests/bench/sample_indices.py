#!/usr/bin/python3
"""Makes sample-audio/indices.csv: every index and level of the clips there, from reference.py, which works in double
precision and shares no code with the program. The clips are decoded by libsndfile.

    sample_indices.py > sample-audio/indices.csv
    sample_indices.py --check      the table that is there is what comes out, to the digits it shows
"""
import csv
import math
import pathlib
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
import reference  # noqa: E402

SAMPLES = support.SOURCE / "sample-audio"
sys.path.append(str(SAMPLES))
import check as samples  # noqa: E402


def settings():
    s = samples.SETTINGS
    return reference.Settings(segment_s=s["segment_s"], step_s=s["step_s"], range_hz=s["range_hz"],
                              bands=[(name, *edges) for name, edges in s["bands"].items()])


def table():
    for clip in samples.clips():
        x, rate = support.read_sound(clip)
        for row in reference.rows_of(x, rate, 1.0, settings()):
            yield {"file": clip.relative_to(SAMPLES).as_posix(), "segment": row.pop("segment"),
                   **{name: value for name, value in row.items() if name != "channel"}}


def text(value):
    """Nine digits: far more than the tolerance needs, and short of what another version of numpy could change."""
    if isinstance(value, (int, str)):
        return str(value)
    return "" if math.isnan(value) else f"{value:.9g}"


def same(a, b):
    return a == b or (a and b and math.isclose(float(a), float(b), rel_tol=1e-7, abs_tol=1e-12))


def compare(rows):
    with open(SAMPLES / "indices.csv", newline="") as file:
        there = list(csv.DictReader(file))
    wrong = [f"{row['file']}, segment {row['segment']}, {name}: {old[name]} in the table, {row[name]} made anew"
             for row, old in zip(rows, there) for name in row if not same(row[name], old.get(name))]
    if len(rows) != len(there):
        wrong.append(f"{len(there)} rows in the table, {len(rows)} made anew")
    print("\n".join(wrong) or f"indices.csv: {len(rows)} rows are what comes out")
    return 1 if wrong or not rows else 0


def main():
    rows = [{name: text(value) for name, value in row.items()} for row in table()]
    if "--check" in sys.argv:
        return compare(rows)
    writer = csv.DictWriter(sys.stdout, rows[0], lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return 0


sys.exit(main())
