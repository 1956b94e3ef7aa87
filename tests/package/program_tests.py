#!/usr/bin/python3
"""The names of the tests that run the built program from outside, as a regular expression's alternatives.      program_tests.py BUILD"""
import json
import pathlib
import re
import subprocess
import sys

build = pathlib.Path(sys.argv[1]).resolve()
source = pathlib.Path(__file__).resolve().parents[1]
program = str(build / "hearwood")
shown = subprocess.run(["ctest", "--show-only=json-v1"], cwd=build, capture_output=True, text=True, check=True).stdout


def runs_program(test):
    words = list(test.get("command", []))
    for entry in test.get("properties", []):
        if entry["name"] == "ENVIRONMENT":
            words += [value.split("=", 1)[1] for value in entry["value"]]
    # A test program that was told at its compilation.
    folder = source / test["name"]
    compiled_in = folder.is_dir() and any("HEARWOOD_BINARY" in path.read_text() for path in folder.glob("*.[ch]*"))
    return program in words or compiled_in


# A library put in front of the system's calls (LD_PRELOAD) is not seen by a program that loads none.
def preloads(test):
    return any("fault_library" in word or "libfault" in word for word in test.get("command", []))


tests = [test for test in json.loads(shown)["tests"] if runs_program(test)]
left = [test["name"] for test in tests if preloads(test)]
kept = [test["name"] for test in tests if test["name"] not in left]
if len(kept) < 10:
    sys.exit(f"only {len(kept)} tests of {build} run the program: was it built with tests?")
print(f"left out: {' '.join(left)} (they put a library before the program's own, which a program without shared libraries does not see)", file=sys.stderr)
print("|".join(re.escape(name) for name in kept))
