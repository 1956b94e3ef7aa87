#!/usr/bin/python3
"""How long the tests of a large sheet take: 40 sites x 60 outcomes x 99,999 permutations with an adjusted contrast
and a gradient, and 40 sites x 24 hours x 60 bands. Bounds: 5 seconds each on two cores, taken as processor seconds over two, which
other work on the machine moves little, and 200 MB of memory: no number is kept for each outcome and permutation.
    /usr/bin/python3 tests/bench/contrast.py PROGRAM"""
import os
import pathlib
import random
import subprocess
import sys
import tempfile
import time

BOUND_S, CORES, BOUND_MB = 5, 2, 200


def values(path, lacking):
    rows = ["site,class,block,index,window,value,depth,slope"]
    for s in range(40):
        stand, block = ("rich", "poor")[s % 2], f"b{s // 10}"
        depth, slope = random.gauss(20, 5), random.gauss(0, 1)
        for k in range(60):
            # Some sites lack some outcomes, so that layouts differ.
            value = "" if lacking and (s * 7 + k * 11) % 97 == 0 else f"{random.gauss(0, 1):.6f}"
            rows.append(f"s{s:02},{stand},{block},i{k},all,{value},{depth:.3f},{slope:.3f}")
    path.write_text("\n".join(rows) + "\n")


def profiles(path):
    rows = ["site,class,hour,low_hz,high_hz,value"]
    for s in range(40):
        for hour in range(24):
            for band in range(60):
                rows.append(f"s{s:02},{('rich', 'poor')[s % 2]},{hour},{band * 250},{band * 250 + 250},{random.random():.5f}")
    path.write_text("\n".join(rows) + "\n")


def timed(program, words, folder):
    """Processor seconds over the cores, seconds on the clock, megabytes."""
    begin = time.monotonic()
    child = subprocess.Popen([program, "contrast", *words, "--compare", "rich,poor", "--out", folder / "out.csv"],
                             stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        sys.exit(f"contrast {' '.join(map(str, words))}: exit code {child.returncode}")
    return (usage.ru_utime + usage.ru_stime) / CORES, time.monotonic() - begin, usage.ru_maxrss / 1024


def main(program):
    random.seed(1)
    slow = 0
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        values(folder / "whole.csv", False)
        values(folder / "lacking.csv", True)
        profiles(folder / "profiles.csv")
        extra = ["--adjust", "depth", "--adjust", "slope", "--gradient", "depth", "--primary", "i0,all"]
        for what, words in (("60 outcomes", ["--values", folder / "whole.csv"]),
                            ("60 outcomes, some missing", ["--values", folder / "lacking.csv"]),
                            ("60 outcomes with everything", ["--values", folder / "whole.csv", *extra]),
                            ("60 outcomes with everything, some missing", ["--values", folder / "lacking.csv", *extra]),
                            ("24 hours x 60 bands", ["--profiles", folder / "profiles.csv"])):
            seconds, clock, megabytes = timed(program, words, folder)
            slow += seconds > BOUND_S or megabytes > BOUND_MB
            print(f"{what}: {seconds:.2f} s on two cores ({clock:.2f} s on the clock), {megabytes:.0f} MB; load {os.getloadavg()[0]:.1f}",
                  flush=True)
    return slow > 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
