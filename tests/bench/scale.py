#!/usr/bin/env python3
"""How time and memory grow: with segments and sites, with the number of files, with threads, with a file's length.

    scale.py HEARWOOD [growth] [files] [jobs] [memory] [--rounds 3] [--scratch DIR]

growth  measure, tabulate, contrast and report for 1, 10, 100, 1,000 and 10,000 segments at each of 8 sites
files   20,000 files of one minute against one long file of the same sound; a second run that finds nothing to do
jobs    two threads against one: many short files, a few long ones, a single long one
memory  peak memory of a file of 24 h, 96 kHz, two channels, with one, two and four jobs
All of them without a name. Recordings are hard links of a few files, so that the page cache holds them: what is
timed is the program and not the disk. Prints Markdown tables (docs/performance.md).
"""
import argparse
import os
import pathlib
import shutil
import statistics
import struct
import subprocess
import tempfile
import time
from datetime import datetime, timedelta
from multiprocessing import Process

SITES = 8
START = datetime(2031, 5, 4)


def survey(folder, segment_s=60.0):
    for name in range(SITES):
        (folder / "recordings" / f"D{name}").mkdir(parents=True)
    (folder / "survey.toml").write_text(
        '[survey]\ntitle = "scale"\ntime_zone = "Asia/Kuching"\n[stands]\nfactor = "stand"\n'
        f'compare = ["rich", "poor"]\n[measure]\nsegment_s = {segment_s}\n[bands]\ninsects = [4000, 12000]\n'
        "birds = [2000, 8000]\nfrogs = [500, 3000]\n[contrast]\n"
        'primary = { index = "aci", window = "dawn" }\n')
    (folder / "sites.csv").write_text("site,latitude,longitude,stand\n" + "".join(
        f"S{i},1.{i},110.3,{'rich' if i % 2 else 'poor'}\n" for i in range(SITES)))
    (folder / "deployments.csv").write_text("deployment,site,folder\n" + "".join(
        f"D{i},S{i},recordings/D{i}\n" for i in range(SITES)))


def sound(seconds, rate, channels, seed):
    import numpy as np
    rng = np.random.default_rng(seed)
    t = np.arange(int(seconds * rate)) / rate
    call = 0.1 * np.sin(2 * np.pi * 3000 * t) * (np.sin(2 * np.pi * (1 + seed) * t) > 0.8)
    x = 0.01 * rng.standard_normal((len(t), channels)) + call[:, None]
    return np.round(x * 32768).astype("<i2").tobytes()


def wave_header(data_bytes, rate, channels):
    """A plain WAV header, or an RF64 one (EBU Tech 3306) from 4 GiB on."""
    fmt = struct.pack("<4sIHHIIHH", b"fmt ", 16, 1, channels, rate, rate * channels * 2, channels * 2, 16)
    if data_bytes + 36 < 1 << 32:
        return struct.pack("<4sI4s", b"RIFF", data_bytes + 36, b"WAVE") + fmt + struct.pack("<4sI", b"data", data_bytes)
    ds64 = struct.pack("<4sIQQQI", b"ds64", 28, data_bytes + 72, data_bytes, data_bytes // (channels * 2), 0)
    return (struct.pack("<4sI4s", b"RF64", 0xFFFFFFFF, b"WAVE") + ds64 + fmt +
            struct.pack("<4sI", b"data", 0xFFFFFFFF))


def write_wave(*arguments, **options):
    """In a process of its own: what this one takes would count as the peak memory of its children."""
    child = Process(target=write_wave_here, args=arguments, kwargs=options)
    child.start()
    child.join()
    if child.exitcode != 0:
        raise SystemExit("a recording could not be written")


def write_wave_here(path, seconds, rate=48000, channels=1, seed=1, unit_s=60, sparse_after_s=None):
    """Sound in units of a minute, again and again; behind sparse_after_s only a hole in the file: silence."""
    unit = sound(min(unit_s, seconds), rate, channels, seed)
    total = int(seconds * rate) * channels * 2
    with open(path, "wb") as file:
        file.write(wave_header(total, rate, channels))
        left = total if sparse_after_s is None else min(total, int(sparse_after_s * rate) * channels * 2)
        hole = total - left
        while left > 0:
            file.write(unit[:left])
            left -= len(unit)
        if hole:
            file.truncate(file.tell() + hole)


def stamp(moment):
    return moment.strftime("R_%Y%m%d_%H%M%S.wav")


def run(program, *words):
    """Wall seconds, processor seconds, peak memory in MB of one command."""
    start = time.perf_counter()
    child = subprocess.Popen([program, *map(str, words)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    seconds = time.perf_counter() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode not in (0, 1):
        raise SystemExit(f"{words}: exit code {child.returncode}")
    return seconds, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def best_measure(program, folder, jobs, rounds):
    """Medians over so many runs from nothing."""
    results = []
    for _ in range(rounds):
        shutil.rmtree(folder / "hearwood", ignore_errors=True)
        results.append(run(program, "measure", folder, "--jobs", jobs, "--quiet"))
    return [statistics.median(column) for column in zip(*results)]


def growth(program, scratch, rounds):
    print("| segments a site | measure | tabulate | contrast | report |\n|---|---|---|---|---|")
    for count in (1, 10, 100, 1000, 10000):
        folder = scratch / f"growth-{count}"
        survey(folder, segment_s=10)
        a_file = min(count, 100)  # segments
        sources = []
        for seed in range(4):
            sources.append(scratch / f"source-{count}-{seed}.wav")
            write_wave(sources[-1], 10 * a_file, rate=24000, seed=seed)
        for site in range(SITES):
            for i in range(count // a_file):
                name = stamp(START + timedelta(seconds=10 * a_file * i))
                os.link(sources[(i * 7 + site * 3) % 4], folder / "recordings" / f"D{site}" / name)
        cells = []
        for command in ("measure", "tabulate", "contrast", "report"):
            seconds, _, memory = run(program, command, folder, *(["--jobs", 1] if command == "measure" else []))
            cells.append(f"{seconds:.2f} s, {memory:.0f} MB")
        print(f"| {count:,} | " + " | ".join(cells) + " |", flush=True)
        shutil.rmtree(folder)


def fill_minutes(folder, scratch, files):
    sources = []
    for seed in range(8):
        sources.append(scratch / f"minute-{seed}.wav")
        write_wave(sources[-1], 60, seed=seed)
    for i in range(files):
        name = stamp(START + timedelta(minutes=i // SITES))
        os.link(sources[i % 8], folder / "recordings" / f"D{i % SITES}" / name)


def files(program, scratch, rounds):
    count = 20000
    many, one = scratch / "many", scratch / "one"
    survey(many)
    survey(one)
    fill_minutes(many, scratch, count)
    hours = 4
    write_wave(one / "recordings/D0" / stamp(START), hours * 3600)
    long_s = [best_measure(program, one, 1, rounds)[0] / hours]
    short_s, _, memory = best_measure(program, many, 1, rounds)
    long_s.append(best_measure(program, one, 1, rounds)[0] / hours)
    an_hour = short_s / (count / 60)
    second = statistics.median(run(program, "measure", many, "--jobs", 1, "--quiet")[0] for _ in range(rounds))
    print(f"\n{count:,} files of one minute: {an_hour:.3f} s an hour of sound; one file of {hours} h: "
          f"{min(long_s):.3f} s an hour; ratio {an_hour / min(long_s):.2f}; {memory:.0f} MB. "
          f"A second run: {second:.2f} s.", flush=True)
    shutil.rmtree(many)
    shutil.rmtree(one)


def jobs(program, scratch, rounds):
    print("\n| survey | 1 job | 2 jobs | ratio |\n|---|---|---|---|")
    kinds = {"3,000 files of one minute": None, "4 files of 2 h": (4, 2), "one file of 6 h": (1, 6)}
    for number, (words, shape) in enumerate(kinds.items()):
        folder = scratch / f"jobs-{number}"
        survey(folder)
        if shape is None:
            fill_minutes(folder, scratch, 3000)
        else:
            for i in range(shape[0]):
                write_wave(folder / "recordings" / f"D{i}" / stamp(START), shape[1] * 3600, seed=i)
        pairs = [(best_measure(program, folder, 1, 1)[0], best_measure(program, folder, 2, 1)[0])
                 for _ in range(rounds)]
        one, two = (statistics.median(column) for column in zip(*pairs))
        print(f"| {words} | {one:.2f} s | {two:.2f} s | {one / two:.2f} |", flush=True)
        shutil.rmtree(folder)


def memory(program, scratch, rounds):
    folder = scratch / "memory"
    survey(folder)
    # An hour of sound and 23 of silence, which takes no room on the disk.
    write_wave(folder / "recordings/D0" / stamp(START), 24 * 3600, 96000, 2, sparse_after_s=3600)
    print("\n| jobs | peak memory, 24 h, 96 kHz, 2 channels |\n|---|---|")
    for count in (1, 2, 4):
        shutil.rmtree(folder / "hearwood", ignore_errors=True)
        _, _, peak = run(program, "measure", folder, "--jobs", count, "--quiet")
        print(f"| {count} | {peak:.0f} MB |", flush=True)
    shutil.rmtree(folder)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("hearwood")
    parser.add_argument("what", nargs="*", default=[])
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--scratch")
    arguments = parser.parse_args()
    program = str(pathlib.Path(arguments.hearwood).resolve())
    parts = {"growth": growth, "files": files, "jobs": jobs, "memory": memory}
    with tempfile.TemporaryDirectory(dir=arguments.scratch) as scratch:
        for name in arguments.what or parts:
            parts[name](program, pathlib.Path(scratch), arguments.rounds)


if __name__ == "__main__":
    main()
