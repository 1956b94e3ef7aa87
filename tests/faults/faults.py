#!/usr/bin/python3
"""Kills the program at random points, lets calls of the system fail one after another, runs two copies at once, and each
time demands that running again ends with every byte as in a run that nothing disturbed. The way the most trusted
embedded databases test themselves.

    faults.py HEARWOOD FAULT_LIBRARY [--kills N] [--calls N] [--pairs N] [--seed K] [--only COMMAND]

--kills is the number of kills in all, shared out over the commands; --calls how many numbers n are tried for "the n-th
call fails", per command, kind of call and error.
"""
import argparse
import hashlib
import os
import random
import re
import shutil
import signal
import sqlite3
import struct
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support import preloadable  # noqa: E402

parser = argparse.ArgumentParser()
parser.add_argument("hearwood")
parser.add_argument("fault_library")
parser.add_argument("--kills", type=int, default=30)
parser.add_argument("--calls", type=int, default=2)
parser.add_argument("--pairs", type=int, default=1)
parser.add_argument("--seed", type=int, default=1)
parser.add_argument("--only")
args = parser.parse_args()
FAULT_LIBRARY = preloadable(args.fault_library)
choose = random.Random(args.seed)

TOML = """[survey]
title = "Faults"
time_zone = "Asia/Kuching"

[stands]
factor = "nutrient_status"
compare = ["rich", "poor"]

[measure]
segment_s = 2
step_s = 1
"""
SITES = {"K1": "poor", "K2": "poor", "A1": "rich", "A2": "rich"}
RATE = 16000


def wave(seconds, seed):
    noise = random.Random(seed).randbytes(round(seconds * RATE))  # 8 bits of noise, as the low byte of 16
    samples = b"".join(struct.pack("<h", byte - 128) for byte in noise)
    head = b"WAVEfmt " + struct.pack("<IHHIIHH", 16, 1, 1, RATE, 2 * RATE, 2, 16) + b"data"
    return b"RIFF" + struct.pack("<I", len(head) + 4 + len(samples)) + head + struct.pack("<I", len(samples)) + samples


def write_survey(folder, with_recordings):
    folder.mkdir(parents=True)
    (folder / "survey.toml").write_text(TOML)
    (folder / "sites.csv").write_text("site,latitude,longitude,nutrient_status\n" + "".join(
        f"{site},{1.5 + i / 50},{110.2 + i / 50},{stand}\n" for i, (site, stand) in enumerate(SITES.items())))
    (folder / "deployments.csv").write_text("deployment,site,folder\n" + "".join(
        f"D{site},{site},recordings/D{site}\n" for site in SITES))
    for i, site in enumerate(SITES):
        place = folder / "recordings" / f"D{site}"
        place.mkdir(parents=True)
        if with_recordings:
            write_recordings(place, site, i)


def write_recordings(place, site, seed):
    for k, hour in enumerate((5, 6, 12, 18)):
        data = wave(6, 10 * seed + k)
        if k == 3:
            data = data[:-5001]  # one is truncated
        path = place / f"{site}_20260314_{hour:02d}0000.wav"
        path.write_bytes(data)
        os.utime(path, (1773500000 + k, 1773500000 + k))


class Difference(AssertionError):
    pass


def run(command, faults=None, **how):
    env = dict(os.environ)
    if faults:
        env |= {"LD_PRELOAD": FAULT_LIBRARY} | {key: str(value) for key, value in faults.items()}
    try:
        return subprocess.run(command, capture_output=True, env=env, timeout=60, **how)
    except subprocess.TimeoutExpired as error:
        raise Difference(f"hangs: {' '.join(map(str, command))} under {faults}") from error


def must_run(*command):
    done = run([args.hearwood, *map(str, command)])
    assert done.returncode in (0, 1), f"{command}: exit {done.returncode}\n{done.stdout.decode()}{done.stderr.decode()}"


@dataclass
class Scenario:
    """A command in a survey: `before` brings the survey to where the command begins; `after` commands show in
    files what it left in the database."""
    name: str
    command: list
    before: list
    after: list
    with_card: bool = False
    spoil: tuple = ()  # files in which a byte is changed before the command begins

    def make(self, folder):
        folder.mkdir(parents=True)
        write_survey(folder / "survey", with_recordings=not self.with_card)
        if self.with_card:
            (folder / "card").mkdir()
            write_recordings(folder / "card", "K1", 77)
            (folder / "card" / "settings.txt").write_text("gain 20\n")
        for command in self.before:
            must_run(*self.fill(command, folder))
        for name in self.spoil:
            path = folder / name
            status = path.stat()
            path.write_bytes(path.read_bytes()[:-1] + b"!")
            os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns))

    @staticmethod
    def fill(command, folder):
        return [word.format(survey=folder / "survey", card=folder / "card") for word in command]

    def argv(self, folder):
        return [args.hearwood, *self.fill(self.command, folder)]

    def state(self, folder):
        """Everything that counts, as a dict: the bytes of all files but the database, and what the database says."""
        for command in self.after:
            must_run(*self.fill(command, folder))
        found = {}
        survey = folder / "survey"
        for path in sorted([*survey.rglob("*"), *(folder / "second").rglob("*")]):
            name = str(path.relative_to(folder)).removeprefix("survey/")
            if path.is_file() and ".db" not in path.name and path.name not in ("writer.lock", "results.lock"):
                data = path.read_bytes().replace(str(folder).encode(), b"FOLDER")
                data = re.sub(rb"20\d\d-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"WHEN", data) if name in DATED or path.name in DATED else data
                found[name] = hashlib.sha256(data).hexdigest()
        found |= database_state(survey / "hearwood" / "survey.db")
        return found


def database_state(path):
    if not path.exists():
        return {}
    with sqlite3.connect(path) as db:
        assert db.execute("PRAGMA integrity_check").fetchall() == [("ok",)], "the database is spoilt"
        columns = [row[1] for row in db.execute("PRAGMA table_info(recordings)") if row[1] not in ("id", "mtime_ns")]  # silencing gives a time of its own
        rows = db.execute(f"SELECT {', '.join(columns)} FROM recordings ORDER BY path").fetchall()
        segments = [row[1] for row in db.execute("PRAGMA table_info(segments)") if row[1] not in ("id", "recording", "segment_id")]
        results = []
        if segments:
            # An id is made of the recording's and the place in it: only the place is the same in every run.
            names = ", ".join(f's."{column}"' for column in segments if "recording" not in column)
            results = db.execute(f"SELECT r.path, {names} FROM segments s JOIN recordings r ON r.id = s.id >> 32 "
                                 "ORDER BY r.path, s.id & 4294967295").fetchall()
        spectra = db.execute("SELECT r.path, p.segment_id & 4294967295, p.kept FROM spectra p JOIN recordings r "
                             "ON r.id = p.segment_id >> 32 ORDER BY 1, 2").fetchall()
        # When the plan was declared is the hour of the run; with how many segments measured, where the run was cut off.
        notes = db.execute("SELECT key, value FROM notes WHERE key != 'declarations' ORDER BY key").fetchall()
    return {"db recordings": rows, "db segments": results, "db spectra": hashlib.sha256(repr(spectra).encode()).hexdigest(),
            "db notes": notes}


def first_difference(wanted, seen):
    """The first rows that differ, where rows of a table are compared."""
    if not isinstance(wanted, list) or not isinstance(seen, list):
        return ""
    for one, other in zip(wanted, seen):
        if one != other:
            return f" ({[a for a, b in zip(one, other) if a != b]} against {[b for a, b in zip(one, other) if a != b]})"
    return f" ({len(seen)} rows for {len(wanted)})"


# Of these files only the times differ between two runs.
DATED = ("PROVED.txt", "forgotten.csv")
MEASURE = ["measure", "{survey}", "--quiet"]
CONTRAST = ["contrast", "{survey}"]
LISTEN = ["listen", "{survey}", "--clips", "8", "--screened", "0", "--repeats", "2", "--seconds", "2", "--quiet", "--force"]
FORGET = ["forget", "{survey}/recordings/DK1/K1_20260314_060000.wav", "--from", "1", "--to", "2.5", "--reason", "voices"]
REPAIR = ["offload", "--repair", "{survey}", "--second", "{survey}/../second", "--quiet"]
SECOND = ["offload", "{card}", "{survey}", "--deployment", "DK1", "--quiet", "--one-copy", "--second", "{survey}/../second"]
TABULATE = ["tabulate", "{survey}", "--quiet"]
PARTS = [["measure", "{survey}", "--part", f"{i}/2", "--quiet"] for i in (1, 2)]
OFFLOAD = ["offload", "{card}", "{survey}", "--deployment", "DK1", "--measure", "--quiet", "--one-copy"]
SCENARIOS = [
    Scenario("measure", MEASURE, [], [TABULATE]),
    # What a failing write kept out of survey.db, measuring takes up from the sums beside the copies.
    Scenario("offload", OFFLOAD, [], [MEASURE], with_card=True),
    Scenario("gather", ["gather", "{survey}"], PARTS, [TABULATE]),
    Scenario("tabulate", TABULATE, [MEASURE], []),
    Scenario("report", ["report", "{survey}", "--quiet"], [MEASURE, TABULATE], []),
    Scenario("check", ["check", "{survey}", "--quiet"], [MEASURE, TABULATE], []),
    Scenario("contrast", CONTRAST, [MEASURE, TABULATE], []),
    Scenario("listen", LISTEN, [MEASURE, TABULATE], []),
    Scenario("run", ["run", "{survey}", "--quiet"], [], []),
    Scenario("forget", FORGET, [MEASURE, TABULATE], []),
    Scenario("second", SECOND, [], [MEASURE], with_card=True),
    Scenario("repair", REPAIR, [SECOND, MEASURE], [], with_card=True,
             spoil=("survey/recordings/DK1/K1_20260314_050000.wav", "second/recordings/DK1/settings.txt",
                    "second/recordings/DK1/K1_20260314_120000.wav")),
]


class Trial:
    """One scenario's template, its undisturbed result, and folders to disturb copies in."""

    def __init__(self, scenario, folder):
        self.scenario, self.folder = scenario, folder
        self.template = folder / "template"
        scenario.make(self.template)
        # The copy lies at a path of the same length as all others: paths may stand in what is written.
        undisturbed = self.fresh()
        began = time.monotonic()
        done = run(scenario.argv(undisturbed))
        self.seconds = time.monotonic() - began
        self.exit = done.returncode
        assert self.exit in (0, 1), f"{scenario.name}: exit {self.exit}\n{done.stdout.decode()}{done.stderr.decode()}"
        self.wanted = scenario.state(undisturbed)
        shutil.rmtree(undisturbed)

    def fresh(self):
        place = self.folder / "place"
        shutil.rmtree(place, ignore_errors=True)
        subprocess.run(["cp", "-a", self.template, place], check=True)
        return place

    def count(self, calls, path):
        place, report = self.fresh(), self.folder / "report"
        run(self.scenario.argv(place), {"FAULT_CALLS": calls, "FAULT_PATH": path, "FAULT_REPORT": report})
        return int(report.read_text().split()[1])

    def finish(self, place, what):
        """Runs again, undisturbed, and compares."""
        done = run(self.scenario.argv(place))
        told = f"{self.scenario.name}, {what}: "
        if done.returncode != self.exit:
            raise Difference(f"{told}run again: exit {done.returncode}, not {self.exit}\n"
                             f"{done.stdout.decode()}{done.stderr.decode()}")
        self.compare(place, f"{what}, run again")

    def compare(self, place, what):
        told = f"{self.scenario.name}, {what}: "
        state = self.scenario.state(place)
        for name in sorted(self.wanted.keys() | state.keys()):
            if state.get(name) != self.wanted.get(name):
                kept = self.folder.parent / f"kept-{self.scenario.name}"
                shutil.copytree(place, kept, dirs_exist_ok=True, symlinks=True)
                raise Difference(f"{told}{name} differs from an undisturbed run{first_difference(self.wanted.get(name), state.get(name))}; "
                                 f"kept in {kept}")


def kill_at_random(trial, kills):
    """Half of them by the clock, half at the n-th call that changes a file. Some runs are killed again and again."""
    calls = "write,pwrite,fsync,rename,unlink,open"
    total = trial.count(calls, str(trial.folder))
    done = 0
    while done < kills:
        place = trial.fresh()
        what = []
        for _ in range(min(choose.choice((1, 1, 1, 2, 3)), kills - done)):
            if choose.random() < 0.5:
                number = choose.randint(1, max(total, 1))
                run(trial.scenario.argv(place), {"FAULT_CALLS": calls, "FAULT_PATH": trial.folder, "FAULT_AT": number,
                                                 "FAULT_HOW": "KILL"})
                what.append(f"killed at call {number} of {total}")
            else:
                after = choose.uniform(0, trial.seconds)
                running = subprocess.Popen(trial.scenario.argv(place), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
                time.sleep(after)
                running.send_signal(signal.SIGKILL)
                running.wait()
                what.append(f"killed after {after:.3f} s of {trial.seconds:.3f}")
            done += 1
        trial.finish(place, ", ".join(what))
    return done


def kill_in_turn(trial, most):
    """Killed at the n-th change of a file, and at the n-th file made."""
    killed = 0
    for calls in ("write,pwrite,fsync,rename,unlink", "create"):
        total = trial.count(calls, str(trial.folder))
        for number in numbers_to_try(total, most):
            place = trial.fresh()
            run(trial.scenario.argv(place), {"FAULT_CALLS": calls, "FAULT_PATH": trial.folder, "FAULT_AT": number,
                                             "FAULT_HOW": "KILL"})
            trial.finish(place, f"killed at call {number} of {total} ({calls})")
            killed += 1
    return killed


WRITING = ("write", "pwrite", "fsync", "rename", "create")
FAILURES = [("write", "ENOSPC"), ("write", "EIO"), ("pwrite", "ENOSPC"), ("pwrite", "EIO"), ("fsync", "EIO"),
            ("rename", "EIO"), ("open", "EIO"), ("read", "EIO"), ("pread", "EIO"), ("openat", "EIO"), ("create", "ENOSPC"),
            ("unlink", "EIO"), ("read,write", "SHORT")]


def numbers_to_try(total, most):
    """The first few, the last few, and a spread between: each of 1..total when that many are wanted."""
    if total <= most:
        return list(range(1, total + 1))
    return sorted({1, total} | set(choose.sample(range(1, total + 1), most - min(2, most))) if most > 1 else {choose.randint(1, total)})


def fail_in_turn(trial, most):
    """The n-th call fails, once or from then on. The run may end well, with a list, or as failed; it must not crash, and
    running again must fix everything."""
    tried = 0
    for call, how in FAILURES:
        for sticky in (False, True):
            path = str(trial.folder / "place")
            for number in numbers_to_try(trial.count(call, path), most):
                place = trial.fresh()
                done = run(trial.scenario.argv(place), {
                    "FAULT_CALLS": call, "FAULT_PATH": path, "FAULT_AT": number, "FAULT_LAST": 0 if sticky else number,
                    "FAULT_HOW": how})
                what = f"{call} {how} at call {number}{' and all after it' if sticky else ''}"
                if done.returncode not in (0, 1, 2, 3):
                    raise Difference(f"{trial.scenario.name}, {what}: exit {done.returncode}\n{done.stderr.decode()}")
                if done.returncode in (2, 3) and not done.stderr and not done.stdout:
                    raise Difference(f"{trial.scenario.name}, {what}: failed without a word")
                # A run that ends as if nothing had failed must not have left less than one that did not fail.
                if done.returncode == trial.exit and call in WRITING:
                    trial.compare(place, what)
                trial.finish(place, what)
                tried += 1
    if tried == 0:
        raise Difference(f"{trial.scenario.name}: no call to fail")
    return tried


def two_at_once(trial, pairs):
    """Two copies of the program on one survey: the second waits or says so."""
    for _ in range(pairs):
        place = trial.fresh()
        both = [subprocess.Popen(trial.scenario.argv(place), stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(2)]
        for one in both:
            out, err = one.communicate(timeout=120)
            if one.returncode != trial.exit:
                raise Difference(f"{trial.scenario.name}, two at once: exit {one.returncode}\n{err.decode()}")
        trial.finish(place, "two at once")


def main():
    failed = 0
    scenarios = [s for s in SCENARIOS if args.only in (None, s.name)]
    if not scenarios:
        sys.exit(f"no scenario is called {args.only}")
    with tempfile.TemporaryDirectory(prefix="hearwood-faults-") as temporary:
        for i, scenario in enumerate(scenarios):
            kills = args.kills // len(scenarios) + (i < args.kills % len(scenarios))
            began = time.monotonic()
            try:
                trial = Trial(scenario, Path(temporary) / scenario.name)
                killed = kill_at_random(trial, kills)
                killed += kill_in_turn(trial, args.calls)
                tried = fail_in_turn(trial, args.calls)
                two_at_once(trial, args.pairs)
                print(f"ok     {scenario.name}: {killed} kills, {tried} failing calls, {args.pairs} pairs "
                      f"({time.monotonic() - began:.1f} s)", flush=True)
            except AssertionError as error:
                failed += 1
                print(f"FAILED {error}", flush=True)
        if failed and os.environ.get("KEEP"):
            shutil.copytree(temporary, os.environ["KEEP"], dirs_exist_ok=True, symlinks=True)
    sys.exit(1 if failed else 0)


main()
