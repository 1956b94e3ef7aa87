#!/usr/bin/python3
"""How fast offload is: against `cp` and two `sha256sum` of the same warm folder in one run (offload reads each copy back
twice, when it is written and after the last, and the card twice unless --read-once is given), and with --measure against
without, from a card throttled to 90 MB/s. Medians. Not run by default.

    speed.py HEARWOOD FAULT_LIBRARY [--files N] [--seconds S] [--rate HZ] [--runs N]
"""
import argparse
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support import preloadable  # noqa: E402

parser = argparse.ArgumentParser()
parser.add_argument("hearwood")
parser.add_argument("fault_library")
parser.add_argument("--files", type=int, default=180)
parser.add_argument("--seconds", type=int, default=60)
parser.add_argument("--rate", type=int, default=48000)
parser.add_argument("--runs", type=int, default=7)
args = parser.parse_args()
FAULT_LIBRARY = preloadable(args.fault_library)


def seconds(work):
    began = time.monotonic()
    work()
    return time.monotonic() - began


with tempfile.TemporaryDirectory(prefix="hearwood-speed-") as temporary:
    folder = Path(temporary) / "p"
    subprocess.run(["/usr/bin/python3", Path(__file__).parent / "make_card.py", folder, "--clean", "--files",
                    str(args.files), "--seconds", str(args.seconds), "--rate", str(args.rate)], check=True)
    card, survey = folder / "card", folder / "survey"
    size = sum(p.stat().st_size for p in card.rglob("*.wav"))
    copy = folder / "copy"
    old = folder / "old"
    old.mkdir()
    runs = 0

    def clean():
        """Small files are set aside, not deleted: ext4 would spend the next minute stepping over their inodes."""
        global runs
        runs += 1
        for path in (copy, survey / "recordings", survey / "hearwood"):
            if path.exists():
                path.rename(old / f"{runs}-{path.name}")
        if size > 200e6:
            shutil.rmtree(old)
            old.mkdir()
        subprocess.run(["sync"])

    def copy_and_sum():
        subprocess.run(["cp", "-r", card, copy], check=True)
        for _ in range(2):
            subprocess.run(f"find '{copy}' -type f -print0 | xargs -0 sha256sum > /dev/null", shell=True, check=True)

    def offload(*options, **env):
        subprocess.run([args.hearwood, "offload", card, survey, "--deployment", "H1-march", "--quiet", "--one-copy", *options],
                       check=True, stdout=subprocess.DEVNULL, env=dict(os.environ) | env)

    slow = {"LD_PRELOAD": FAULT_LIBRARY, "FAULT_PATH": "/card/", "FAULT_RATE": "90000000"}
    kinds = {"cp + two sha256sum": copy_and_sum, "offload": offload,
             "offload --read-once": lambda: offload("--read-once"),
             "offload, 90 MB/s": lambda: offload(**slow),
             "offload --measure, 90 MB/s": lambda: offload("--measure", **slow)}
    times = {name: [] for name in kinds}
    for _ in range(args.runs):
        for name, work in kinds.items():
            clean()
            subprocess.run(f"cat '{card}'/*/* > /dev/null", shell=True)
            times[name].append(seconds(work))
    middle = {name: statistics.median(of) for name, of in times.items()}
    print(f"{args.files} files, {size / 1e6:.0f} MB, medians of {args.runs}")
    for name, value in middle.items():
        print(f"{name:28} {value:7.2f} s  {size / 1e6 / value:7.0f} MB/s")
    print(f"offload against cp + two sha256sum: {middle['cp + two sha256sum'] / middle['offload']:.2f} (at least 0.5)")
    print(f"the same with --read-once: {middle['cp + two sha256sum'] / middle['offload --read-once']:.2f}")
    print("with --measure against without, slow card: "
          f"{middle['offload, 90 MB/s'] / middle['offload --measure, 90 MB/s']:.2f} (at least 0.9)")
