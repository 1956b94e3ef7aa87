#!/usr/bin/env python3
"""How close `hearwood measure` comes to the floor (floor.cpp), in turn with it, as ratios of medians.

    speed.py BUILD [--hours 1] [--rate 48000] [--rounds 7] [--jobs 1] [--even] [--processor] [--reference]

BUILD is the build folder (hearwood, tests/floor, tests/analyse). Makes a mono 16-bit recording of so many hours and
a survey with three named bands around it in a scratch folder, then measures, `rounds` times in turn: the floor, the
whole process of `hearwood measure --jobs N`, the analyser alone. --even: the recording is one of two sites', and
`hearwood even` measures both again. --processor: seconds of the processor instead of the clock's, which other work
on the machine disturbs less. With --reference also the straightforward script reference.py on the first ten minutes.
Prints seconds, times real time, ratios and peak memory.
"""
import argparse
import multiprocessing
import os
import pathlib
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time

from scale import write_wave

HERE = pathlib.Path(__file__).parent
BANDS = {"insects": (4000, 12000), "birds": (2000, 8000), "frogs": (500, 3000)}


def write_survey(folder, hours, rate, sites):
    """One recording of so many hours, for each of 1 or 2 sites; the first is returned."""
    for site in range(1, sites + 1):
        (folder / f"recordings/{site}").mkdir(parents=True)
        wav = folder / f"recordings/{site}/R_20250301_000000.wav"
        write_wave(wav, hours * 3600, rate, seed=site, unit_s=600)  # noise with calls: no bin is silent
    bands = "\n".join(f"{name} = [{low}, {high}]" for name, (low, high) in BANDS.items())
    (folder / "survey.toml").write_text(
        '[survey]\ntitle = "speed"\ntime_zone = "Asia/Kuching"\n[stands]\nfactor = "stand"\n'
        f'compare = ["rich", "poor"]\n[bands]\n{bands}\n[windows]\nround = {{ from = "00:00", to = "23:59" }}\n')
    rows = "".join(f"S{i},1.{i},110.3,{'rich' if i % 2 else 'poor'}\n" for i in range(1, 5))
    (folder / "sites.csv").write_text("site,latitude,longitude,stand\n" + rows)
    deployments = "".join(f"D{i},S{i},recordings/{i},30\n" for i in range(1, sites + 1))
    (folder / "deployments.csv").write_text("deployment,site,folder,gain_db\n" + deployments)
    return folder / "recordings/1/R_20250301_000000.wav"


def in_child(function, *arguments):
    child = multiprocessing.Process(target=function, args=arguments)
    child.start()
    child.join()
    if child.exitcode != 0:
        sys.exit("speed.py: no recording could be made")


def cut(wav, part, seconds):
    """The first seconds of a recording as a file of its own."""
    from scipy.io import wavfile
    rate, samples = wavfile.read(wav, mmap=True)
    wavfile.write(part, rate, samples[:seconds * rate])


def timed(command, processor=False):
    """Seconds of the clock, or of the processor, and peak memory in MB of a process of its own."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - start
    if status != 0:
        sys.exit(f"{' '.join(map(str, command))}: status {status}")
    return usage.ru_utime + usage.ru_stime if processor else seconds, usage.ru_maxrss / 1024


def floor_seconds(build, wav, processor):
    out = subprocess.run([build / "tests" / "floor", wav], capture_output=True, text=True, check=True).stdout
    return float(re.search(r"processor_s=([\d.]+)" if processor else r"read_fft_s=([\d.]+)", out)[1])


def analyser_seconds(build, wav):
    bands = [word for name, (low, high) in BANDS.items() for word in ("--band", name, str(low), str(high))]
    out = subprocess.run([build / "tests" / "analyse", wav, "--time", *bands], capture_output=True, text=True,
                         check=True).stdout
    return float(out)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("build", type=pathlib.Path)
    parser.add_argument("--hours", type=float, default=1)
    parser.add_argument("--rate", type=int, default=48000)
    parser.add_argument("--even", action="store_true")
    parser.add_argument("--processor", action="store_true")
    parser.add_argument("--rounds", type=int, default=7)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--reference", action="store_true")
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        survey = pathlib.Path(scratch) / "survey"
        sites = 2 if args.even else 1
        wav = write_survey(survey, args.hours / sites, args.rate, sites)
        run = lambda command: timed([args.build / "hearwood", command, survey, "--jobs", str(args.jobs), "--quiet"],
                                    args.processor)
        times, memory = {"floor": [], "hearwood": [], "even" if args.even else "analyser": []}, 0
        for _ in range(args.rounds):
            times["floor"].append(sites * floor_seconds(args.build, wav, args.processor))
            shutil.rmtree(survey / "hearwood", ignore_errors=True)
            seconds, peak = run("measure")
            times["hearwood"].append(seconds)
            memory = max(memory, peak)
            if args.even:
                times["even"].append(run("even")[0])
            elif not args.processor:
                times["analyser"].append(analyser_seconds(args.build, wav))
        times = {name: values for name, values in times.items() if values}
        floor = statistics.median(times["floor"])
        audio = args.hours * 3600
        for name, values in times.items():
            middle = statistics.median(values)
            print(f"{name:9s} {middle:8.4f} s (least {min(values):.4f})  {audio / middle:8.0f} times real time"
                  f"  {middle / floor:5.2f} x floor")
        print(f"peak memory of hearwood: {memory:.1f} MB")
        if args.reference:
            part = pathlib.Path(scratch) / "part.wav"
            in_child(cut, wav, part, 600)
            seconds, _ = timed(["/usr/bin/python3", HERE / "reference.py", part,
                                *[w for n, (lo, hi) in BANDS.items() for w in ("--band", n, str(lo), str(hi))]])
            hearwood = statistics.median(times["hearwood"]) / audio
            print(f"reference.py {600 / seconds:8.0f} times real time; hearwood is {seconds / 600 / hearwood:.1f} x as fast")


if __name__ == "__main__":
    main()
