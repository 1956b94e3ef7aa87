#!/usr/bin/python3
"""Size of programs and the time from their start to their end where there is nothing to do, alternately, medians.

    /usr/bin/python3 tests/bench/start.py build/hearwood build-static/hearwood-0.1.0-linux-x86_64/hearwood [--rounds 51]"""
import argparse
import pathlib
import statistics
import subprocess
import time

options = argparse.ArgumentParser(description=__doc__)
options.add_argument("program", nargs="+", type=pathlib.Path)
options.add_argument("--rounds", type=int, default=51)
options = options.parse_args()
times = {program: [] for program in options.program}
for _ in range(options.rounds):
    for program in options.program:
        began = time.perf_counter()
        subprocess.run([program.resolve(), "--version"], stdout=subprocess.DEVNULL, check=True)
        times[program].append(1000 * (time.perf_counter() - began))
for program in options.program:
    print(f"{program}: {program.stat().st_size / 1e6:.1f} MB, --version in {statistics.median(times[program]):.1f} ms "
          f"(median of {options.rounds}, fastest {min(times[program]):.1f})")
