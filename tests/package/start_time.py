#!/usr/bin/python3
"""How long one program takes to start and end beside another: `--version`, in turns.    start_time.py PROGRAM OTHER [ROUNDS]"""
import pathlib
import statistics
import subprocess
import sys
import time

programs = [pathlib.Path(path) for path in sys.argv[1:3]]
rounds = int(sys.argv[3]) if len(sys.argv) > 3 else 101
took = {program: [] for program in programs}
for _ in range(rounds):
    for program in programs:
        began = time.perf_counter()
        subprocess.run([program, "--version"], stdout=subprocess.DEVNULL, check=True)
        took[program].append(1000 * (time.perf_counter() - began))
# The quickest is what the program itself needs; what comes on top is the machine's other work.
for program in programs:
    print(f"{program}: {program.stat().st_size / 1e6:.1f} MB; starts and ends in {min(took[program]):.1f} ms "
          f"(median of {rounds}: {statistics.median(took[program]):.1f} ms)")
