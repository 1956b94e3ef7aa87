#!/usr/bin/python3
"""Offloads cards made by make_card.py through the real program, and holds what comes out against sha256sum and the card
itself: clean and damaged cards, wrong ones, failing ones, full disks, kills.

    offload_check.py HEARWOOD FAULT_LIBRARY [--kills N] [--files N] [CASE...]
"""
import argparse
import json
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
import traceback
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from support import preloadable  # noqa: E402

HERE = Path(__file__).parent
parser = argparse.ArgumentParser()
parser.add_argument("hearwood")
parser.add_argument("fault_library")
parser.add_argument("--kills", type=int, default=8)
parser.add_argument("--files", type=int, default=60)
parser.add_argument("cases", nargs="*")
args = parser.parse_args()
FAULT_LIBRARY = preloadable(args.fault_library)
CASES = []


def case(function):
    CASES.append(function)
    return function


class Place:
    """A card and a survey of their own."""

    def __init__(self, folder, *options, files=None):
        self.folder = folder
        self.card, self.survey = folder / "card", folder / "survey"
        subprocess.run(["/usr/bin/python3", HERE / "make_card.py", folder, "--files", str(files or args.files),
                        "--seconds", "0.5", *options], check=True)
        self.truth = json.loads((folder / "truth.json").read_text())

    def copies(self, deployment="H1-march"):
        return self.survey / "recordings" / deployment

    def command(self, *options, deployment="H1-march", card=None):
        return [args.hearwood, "offload", str(card or self.card), str(self.survey), "--deployment", deployment,
                "--quiet", "--one-copy", *options]

    def offload(self, *options, expect=0, faults=None, **how):
        done = subprocess.run(self.command(*options, **how), capture_output=True, text=True, errors="replace",
                              env=environment(faults), timeout=60)
        assert done.returncode == expect, f"exit {done.returncode}, not {expect}\n{done.stdout}{done.stderr}"
        return done.stdout + done.stderr

    def check_copies(self, deployment="H1-march", copies=None):
        """Every file of the card is there and equal; the manifest is sha256sum's own; nothing half is left."""
        copies = copies or self.copies(deployment)
        wanted = manifest(self.card)
        assert (copies / "SHA256SUMS").read_bytes() == wanted, "SHA256SUMS is not sha256sum's own"
        subprocess.run(["sha256sum", "-c", "--quiet", "--strict", "SHA256SUMS"], cwd=copies, check=True)
        there = {os.path.relpath(os.path.join(root, name), os.fsencode(copies))
                 for root, _, names in os.walk(os.fsencode(copies)) for name in names}
        there -= {b"SHA256SUMS", b"SHA256SUMS.sha256", b"OFFLOAD.txt", b"PROVED.txt"}
        card = {os.path.relpath(os.path.join(root, name), os.fsencode(self.card))
                for root, _, names in os.walk(os.fsencode(self.card)) for name in names}
        assert there == card, f"files differ: {sorted(there ^ card)[:5]}"

    def rows(self, sql):
        with sqlite3.connect(self.survey / "hearwood/survey.db") as db:
            return db.execute(sql).fetchall()


def environment(faults):
    env = dict(os.environ)
    if faults:
        env |= {"LD_PRELOAD": FAULT_LIBRARY} | {k: str(v) for k, v in faults.items()}
    return env


def manifest(folder):
    names = [os.path.relpath(os.path.join(root, name), os.fsencode(folder))
             for root, _, found in os.walk(os.fsencode(folder)) for name in found]
    return subprocess.run([b"sha256sum", b"--", *sorted(names)], cwd=folder, check=True, capture_output=True).stdout


def mount_small_disk(folder, size):
    done = subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", folder], capture_output=True, text=True)
    assert done.returncode == 0, f"a small disk cannot be mounted, which takes root: {done.stderr}"


def has(text, *wanted):
    for words in wanted:
        assert words in text, f"not said: {words}\n{text}"


@case
def a_clean_card(folder):
    place = Place(folder, "--clean")
    out = place.offload()
    has(out, "60 OF 60 FILES ARE PROVED", "THIS CARD MAY BE WIPED", "copied now and read back equal: 60")
    place.check_copies()
    assert place.rows("SELECT count(*), sum(proved) FROM recordings") == [(60, 60)]
    has((place.copies() / "OFFLOAD.txt").read_text(), "THIS CARD MAY BE WIPED")


@case
def planted_faults_are_named(folder):
    place = Place(folder, "--seconds", "4")
    out = place.offload(expect=1)
    has(out, "THIS CARD MAY BE WIPED")  # its copies are what it holds, damage and all
    place.check_copies()
    report = (place.copies() / "OFFLOAD.txt").read_text()
    words = {"truncated": "Truncated: the file ends", "header never finished": "eader never finished",
             "empty": "he file is empty", "text": "ot sound", "odd byte": "1 byte from byte",
             "duplicate": "Has the same content as", "clock reset": "the clock was set back or never set",
             "overlap": "before {previous} ends", "short": "most hold", "wrong rate": "16000 Hz"}
    for fault, names in place.truth.items():
        for name in names:
            words_of_it = words[fault].split("{")[0]
            assert any(line.startswith(f"  {name}: ") and words_of_it in line for line in report.splitlines()), \
                f"{fault} of {name} is not named\n{report}"
    has(report, "Nothing for 20 min before it")


@case
def the_same_card_twice(folder):
    place = Place(folder, "--clean")
    place.offload()
    before = {p: (p.stat().st_ino, p.stat().st_mtime_ns) for p in place.copies().rglob("*.wav")}
    has(place.offload(), "copied now and read back equal: 0; compared with copies that were there: 60", "MAY BE WIPED")
    assert before == {p: (p.stat().st_ino, p.stat().st_mtime_ns) for p in place.copies().rglob("*.wav")}
    # The same content under other names: the card was given by another of its folders.
    has(place.offload(card=place.card / "DATA0"), "60 OF 60", "where this content was copied before", "MAY BE WIPED")
    place.check_copies()


@case
def another_file_of_the_same_name(folder):
    place = Place(folder, "--clean", files=20)
    place.offload()
    victim = next(place.card.rglob("*.wav"))
    stat = victim.stat()
    data = bytearray(victim.read_bytes())
    data[-1] ^= 1
    victim.write_bytes(data)  # the same size and time, one bit different: only the content tells
    os.utime(victim, ns=(stat.st_atime_ns, stat.st_mtime_ns))
    has(place.offload(), "since another file of its name was there", "copied now and read back equal: 1;")
    assert (place.copies() / "card-2" / victim.relative_to(place.card)).read_bytes() == data
    has(place.offload(), "copied now and read back equal: 0;", "MAY BE WIPED")
    subprocess.run(["sha256sum", "-c", "--quiet", "SHA256SUMS"], cwd=place.copies(), check=True)


@case
def two_files_of_a_card_never_get_one_name(folder):
    """A file whose name is taken goes to card-2/..., unless the card itself has a file of that name."""
    place = Place(folder, "--clean", files=20)
    kept, *others = sorted(place.card.rglob("*.wav"))
    for path in others:
        path.unlink()
    place.offload()
    first, second = kept.read_bytes()[:-1] + b"1", kept.read_bytes()[:-1] + b"2"
    kept.write_bytes(first)
    twin = place.card / "card-2" / kept.relative_to(place.card)
    twin.parent.mkdir(parents=True)
    twin.write_bytes(second)
    has(place.offload(), "2 OF 2 FILES ARE PROVED")
    copies = [path.read_bytes() for path in place.copies().rglob("*.wav")]
    assert first in copies and second in copies and len(copies) == 3, "a proved copy was overwritten"
    has(place.offload(), "copied now and read back equal: 0;", "MAY BE WIPED")


@case
def a_copy_changed_since_is_not_taken_for_the_content(folder):
    """SHA256SUMS remembers what was copied; what is there now counts, under whatever name."""
    place = Place(folder, "--clean", files=20)
    place.offload(card=place.card / "DATA0")
    changed = sorted(place.copies().glob("*.wav"))[5]
    data = bytearray(changed.read_bytes())
    data[-1] ^= 1
    changed.write_bytes(data)
    has(place.offload(), "20 OF 20 FILES ARE PROVED", "copied now and read back equal: 1;")
    assert (place.copies() / "DATA0" / changed.name).read_bytes() == (place.card / "DATA0" / changed.name).read_bytes()
    assert changed.read_bytes() == data


@case
def a_copy_changed_since_stays_and_the_card_gets_another(folder):
    """What SHA256SUMS says holds only for a copy that was not changed since."""
    place = Place(folder, "--clean", files=6)
    place.offload()
    changed = sorted(place.copies().rglob("*.wav"))[3]
    data = bytearray(changed.read_bytes())
    data[-1] ^= 1
    changed.write_bytes(data)
    has(place.offload(), "6 OF 6 FILES ARE PROVED", "copied now and read back equal: 1;")
    below = changed.relative_to(place.copies())
    assert (place.copies() / "card-2" / below).read_bytes() == (place.card / below).read_bytes()
    assert changed.read_bytes() == data


@case
def the_wrong_card_stops(folder):
    place = Place(folder, "--clean", files=20)
    # Its dates are not those of this deployment.
    out = place.offload(deployment="A2-june", expect=2)
    has(out, "20 of its 20 recordings with a time begin outside the deployment", "add --force", "nothing was copied")
    assert not list(place.copies("A2-june").rglob("*.wav"))
    # The sheet says LT05, the names say LT04, which is the recorder of H1-march.
    has(place.offload(deployment="H2-march", expect=2), '"LT04_", the recorder of "H1-march", not of "H2-march"')
    place.offload()
    out = place.offload(deployment="H2-march", expect=2)
    has(out, "which is another recorder")
    out = place.offload("--force", deployment="H2-march")
    has(out, "you went on with --force", "was offloaded already for deployment 'H1-march'", "20 OF 20")
    place.check_copies("H2-march")
    # Another card of other files, but the prefix differs from what this deployment had.
    for path in list(place.card.rglob("*.wav")):
        path.rename(path.with_name(path.name.replace("LT04", "XY77")))
    has(place.offload(expect=2), 'the beginning of its files\' names is "XY77_"; what was copied for "H1-march"')


@case
def already_offloaded_elsewhere_stops(folder):
    place = Place(folder, "--clean", files=20)
    for path in list(place.card.rglob("*.wav")):  # no prefix that could tell
        path.rename(path.with_name(path.name.replace("LT04_", "")))
    place.offload()
    has(place.offload(deployment="A1-march", expect=2), "was offloaded already for deployment 'H1-march'")
    assert not list(place.copies("A1-march").rglob("*.wav"))


@case
def the_card_is_read_twice_and_not_touched(folder):
    place = Place(folder, "--clean", files=30)
    for path in place.card.rglob("*.wav"):
        os.utime(path, ns=(10**18, path.stat().st_mtime_ns))  # an old access time, which a read would renew
    total = sum(p.stat().st_size for p in place.card.rglob("*") if p.is_file())
    report = folder / "report"
    second = folder / "second"
    for times, more in ((2, ()), (1, ("--read-once",))):
        place.offload("--measure", "--second", str(second), *more,
                      faults={"FAULT_CALLS": "read,pread", "FAULT_PATH": "/card/", "FAULT_REPORT": report})
        assert report.read_text().split()[3] == str(times * total), f"{report.read_text()} of {times} x {total} bytes"
    assert {p.stat().st_atime_ns for p in place.card.rglob("*.wav")} == {10**18}
    place.check_copies()
    place.check_copies(copies=second / "recordings" / "H1-march")


@case
def measured_on_the_way_is_measured_the_same(folder):
    one, other = Place(folder / "1"), Place(folder / "2")
    one.offload("--measure", expect=1)
    other.offload(expect=1)
    subprocess.run([args.hearwood, "measure", other.survey, "--quiet"], capture_output=True)
    done = subprocess.run([args.hearwood, "measure", one.survey, "--quiet"], capture_output=True, text=True)
    assert done.returncode in (0, 1), done.stderr
    columns = [row[1] for row in one.rows("PRAGMA table_info(segments)")]
    values = ", ".join(f's."{c}"' for c in columns if c not in ("id", "recording"))
    sql = (f"SELECT r.path, r.state, r.reason, r.sha256, {values} FROM segments s JOIN recordings r ON r.id = s.recording "
           "ORDER BY r.path, s.channel, s.segment")
    assert one.rows(sql) == other.rows(sql)
    assert len(one.rows(sql)) > 20


@case
def places_that_cannot_be_read(folder):
    place = Place(folder, "--clean", files=20)
    victim = sorted(place.card.rglob("*.wav"))[7]
    faults = {"FAULT_BAD": "2000-3000", "FAULT_PATH": str(victim)}
    out = place.offload(expect=1, faults=faults)
    has(out, "19 OF 20 FILES ARE PROVED", "DO NOT WIPE THIS CARD", "2,096 bytes from byte 2,000 on could not be read")
    copy = place.copies() / victim.relative_to(place.card)
    data = bytearray(victim.read_bytes())
    data[2000:4096] = bytes(2096)
    assert copy.read_bytes() == data, "what lies around the bad place is not where it was"
    assert place.rows("SELECT count(*) FROM recordings WHERE proved = 0") == [(1,)]
    has(place.offload("--measure", expect=1, faults=faults), "DO NOT WIPE THIS CARD")
    (state, reason), = place.rows("SELECT state, reason FROM recordings WHERE proved = 0")
    assert state == "damaged" and "are silence in the copy" in reason, reason
    # Its one segment has the zeros in it: no number comes of that.
    assert "segments with zeros in place of sound are left out" in reason, reason
    rows_of_it = ("SELECT count(*) FROM segments s JOIN recordings r ON r.id = s.recording "
                  f"WHERE r.path LIKE '%/{victim.name}'")
    assert place.rows(rows_of_it) == [(0,)] and place.rows("SELECT count(*) FROM segments") == [(19,)]
    # Another reader, and it can be read: the better copy takes the place of the salvaged one.
    has(place.offload("--measure"), "20 OF 20 FILES ARE PROVED", "THIS CARD MAY BE WIPED")
    place.check_copies()
    assert place.rows(rows_of_it) == [(1,)]


@case
def a_worse_reading_takes_nothing_away(folder):
    """A card that dies bit by bit: each run reads less of the same file."""
    place = Place(folder, "--clean", files=12)
    victim = sorted(place.card.rglob("*.wav"))[7]
    place.offload(expect=1, faults={"FAULT_BAD": "4096-5000", "FAULT_PATH": str(victim)})
    copy = place.copies() / victim.relative_to(place.card)
    first = copy.read_bytes()
    before = place.rows("SELECT * FROM recordings")
    out = place.offload(expect=1, faults={"FAULT_BAD": "3000-7900", "FAULT_PATH": str(victim)})
    has(out, "11 OF 12 FILES ARE PROVED", "DO NOT WIPE", "less of it could be read than in an earlier run")
    assert copy.read_bytes() == first, "what was saved before is gone"
    assert place.rows("SELECT * FROM recordings") == before
    has(place.offload(), "12 OF 12 FILES ARE PROVED")
    place.check_copies()


@case
def a_salvaged_copy_edited_by_hand_is_kept(folder):
    """A better reading replaces a salvaged copy, but not what somebody has made of it since."""
    for edit in (lambda data: data[:-100], lambda data: data[:-1] + b"x"):
        place = Place(folder, "--clean", files=12)
        victim = sorted(place.card.rglob("*.wav"))[7]
        place.offload(expect=1, faults={"FAULT_BAD": "2000-3000", "FAULT_PATH": str(victim)})
        copy = place.copies() / victim.relative_to(place.card)
        edited = edit(copy.read_bytes())
        copy.write_bytes(edited)
        has(place.offload(), "12 OF 12 FILES ARE PROVED", "since another file of its name was there")
        assert copy.read_bytes() == edited, "work of the user's own was overwritten"
        assert (place.copies() / "card-2" / victim.relative_to(place.card)).read_bytes() == victim.read_bytes()
        shutil.rmtree(folder)


@case
def a_pulled_card(folder):
    place = Place(folder, "--clean", files=30)
    faults = {"FAULT_CALLS": "pread", "FAULT_PATH": "/card/", "FAULT_AT": 25, "FAULT_LAST": 0, "FAULT_HOW": 19}
    has(place.offload(expect=3, faults=faults), "the card is gone or gives nothing any more; put it back in", "DO NOT WIPE")
    has(place.offload(), "30 OF 30 FILES ARE PROVED")
    place.check_copies()


@case
def a_card_that_fails_from_some_point_on(folder):
    """Every read from the n-th on fails, at ends of files too: the run ends all the same, and says what is missing."""
    for number in (1, 2, 3, 11, 12):
        place = Place(folder / str(number), "--clean", files=12)
        faults = {"FAULT_CALLS": "pread", "FAULT_PATH": "/card/", "FAULT_AT": number, "FAULT_LAST": 0, "FAULT_HOW": "EIO"}
        has(place.offload(expect=3, faults=faults), "DO NOT WIPE", "gives nothing any more")
        has(place.offload(), "12 OF 12")
        place.check_copies()


@case
def a_passing_read_error_costs_nothing(folder):
    place = Place(folder, "--clean", files=20)
    faults = {"FAULT_CALLS": "pread", "FAULT_PATH": "/card/", "FAULT_AT": 9, "FAULT_HOW": "EIO"}
    has(place.offload(faults=faults), "20 OF 20 FILES ARE PROVED")
    place.check_copies()


@case
def a_disk_that_fails(folder):
    """The n-th write, sync, rename or read of the copies fails: told, and the next run ends well."""
    for call, error in (("write", "ENOSPC"), ("write", "EIO"), ("fsync", "EIO"), ("rename", "EIO"), ("pread", "EIO"),
                        ("open", "EIO"), ("pwrite", "ENOSPC")):
        for number in (1, 2, 7, 20):
            where = folder / f"{call}-{error}-{number}"
            place = Place(where, "--clean", files=15)
            faults = {"FAULT_CALLS": call, "FAULT_PATH": str(place.survey), "FAULT_AT": number, "FAULT_HOW": error}
            done = subprocess.run(place.command(), capture_output=True, text=True, env=environment(faults))
            assert done.returncode in (0, 1, 2, 3), f"{call} {number}: exit {done.returncode}\n{done.stdout}{done.stderr}"
            # Where only survey.db could not be written the copies are proved all the same.
            if done.returncode in (2, 3) and "survey.db lacks recordings" not in done.stdout:
                assert "MAY BE WIPED" not in done.stdout, f"{call} {number}\n{done.stdout}{done.stderr}"
            if "MAY BE WIPED" in done.stdout:
                place.check_copies()
            elif done.returncode == 1:
                has(done.stdout + done.stderr, "DO NOT WIPE")
            place.offload()
            place.check_copies()
            shutil.rmtree(where)


@case
def short_reads_and_writes(folder):
    place = Place(folder, "--clean", files=15)
    # SQLite takes short pread and pwrite for a full or failing disk.
    faults = {"FAULT_CALLS": "read,write", "FAULT_PATH": str(folder), "FAULT_AT": 1, "FAULT_LAST": 0, "FAULT_HOW": "SHORT"}
    place.offload("--measure", faults=faults)
    place.check_copies()
    again = Place(folder / "again", "--clean", files=15)
    again.offload(faults=faults | {"FAULT_CALLS": "pread", "FAULT_PATH": "/card/"})
    again.check_copies()


@case
def a_disk_that_reads_back_wrongly(folder):
    place = Place(folder, "--clean", files=10)
    faults = {"FAULT_CALLS": "pread", "FAULT_PATH": "/.offload/7.part", "FAULT_AT": 1, "FAULT_LAST": 0, "FAULT_HOW": "FLIP"}
    out = place.offload(expect=1, faults=faults)
    has(out, "9 OF 10 FILES ARE PROVED", "DO NOT WIPE", "reads back from the disk differently")
    assert len(list(place.copies().rglob("*.wav"))) == 9
    place.offload()
    place.check_copies()


@case
def a_full_disk(folder):
    place = Place(folder, "--clean", files=200)
    small = folder / "small"
    small.mkdir()
    mount_small_disk(small, "3m")
    try:
        out = place.offload("--second", str(small), expect=3)
        has(out, "not enough space", "nothing was copied")
        assert not list(place.copies().rglob("*.wav"))
        subprocess.run(["mount", "-o", "remount,size=60m", small], check=True)
        filler = small / "filler"  # somebody else fills the disk while we copy
        running = subprocess.Popen(place.command("--second", str(small)), stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        with open(filler, "wb") as out_file:
            try:
                while True:
                    out_file.write(bytes(1 << 16))
            except OSError:
                pass
        text = running.communicate()[0].decode()
        assert running.returncode in (0, 3), text
        if running.returncode == 3:
            assert "No space left" in text or "not enough space" in text, text
            assert "MAY BE WIPED" not in text
        filler.unlink()
        out = place.offload("--second", str(small))
        has(out, "200 OF 200")
        # Told by the run that copied: the first, where it was quicker than the filler.
        has(text + out, "not known whether this disk was read past memory")
        place.check_copies()
        place.check_copies(copies=small / "recordings/H1-march")
    finally:
        subprocess.run(["umount", "-l", small])


@case
def a_disk_that_has_the_copies_needs_no_room_for_them(folder):
    place = Place(folder, "--clean", "--seconds", "4", "--rate", "48000", files=80)  # 31 MB
    make_survey = place.survey
    place.survey = folder / "small"
    place.survey.mkdir()
    mount_small_disk(place.survey, "70m")
    try:
        shutil.copytree(make_survey, place.survey, dirs_exist_ok=True)
        place.offload()
        second = folder / "second"
        has(place.offload("--second", str(second)), "80 OF 80")
        place.check_copies(copies=second / "recordings/H1-march")
        done = place.offload("--dry-run", "--second", str(place.survey / "backup"), expect=3)
        has(done, "31 MB of copies")
    finally:
        subprocess.run(["umount", "-l", place.survey])


@case
def interrupted_by_hand(folder):
    place = Place(folder, "--clean", files=100)
    # Read so slowly that the card would take a minute: it is under way when the first copy is there.
    bytes_a_second = sum(f.stat().st_size for f in place.card.rglob("*") if f.is_file()) / 60
    slow = environment({"FAULT_PATH": "/card/", "FAULT_RATE": bytes_a_second})
    running = subprocess.Popen(place.command(), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=slow)
    until = time.monotonic() + 60
    while not list(place.copies().rglob("*.wav")) and time.monotonic() < until:
        time.sleep(0.01)
    running.send_signal(signal.SIGINT)
    out, err = running.communicate(timeout=120)
    assert running.returncode == 130, f"exit {running.returncode}\n{out}{err}"
    has(out, "DO NOT WIPE", "run the same command again to go on")
    assert 0 < len(list(place.copies().rglob("*.wav"))) < 100, "it was not under way"
    place.offload()
    place.check_copies()


@case
def killed_at_random(folder):
    place = Place(folder, files=max(args.files, 300))
    choose = random.Random(7)
    started = time.monotonic()
    place.offload("--measure", expect=1)
    whole = time.monotonic() - started

    def start_anew():
        shutil.rmtree(place.survey / "recordings")
        shutil.rmtree(place.survey / "hearwood")

    start_anew()
    killed = done = 0
    while killed < args.kills and done < 2 * args.kills:
        running = subprocess.Popen(place.command("--measure"), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(choose.uniform(0, whole))
        running.kill()
        if running.wait() == -signal.SIGKILL:
            killed += 1
        else:  # it was quicker, and has left nothing to do
            done += 1
            start_anew()
            continue
        # What has a name is whole at every moment.
        for copy in place.copies().rglob("*"):
            if copy.is_file() and ".offload" not in copy.parts and copy.suffix not in (".part", "") and \
                    copy.name not in ("OFFLOAD.txt", "PROVED.txt", "SHA256SUMS.sha256"):
                original = place.card / copy.relative_to(place.copies())
                assert copy.read_bytes() == original.read_bytes(), f"half a file: {copy}"
    print(f"  killed {killed} times, done before the kill {done} times")
    assert killed == args.kills
    place.offload("--measure", expect=1)
    place.check_copies()
    left = [p for p in place.survey.rglob("*") if p.name.endswith(".part") or p.name == ".offload"]
    assert not left, left
    wanted = Place(folder / "undisturbed", files=max(args.files, 300))
    wanted.offload("--measure", expect=1)
    columns = [row[1] for row in wanted.rows("PRAGMA table_info(segments)")]
    values = ", ".join(f's."{c}"' for c in columns if c not in ("id", "recording"))
    sql = (f"SELECT r.path, r.state, r.reason, r.sha256, r.proved, {values} FROM recordings r "
           "LEFT JOIN segments s ON r.id = s.recording ORDER BY r.path, s.channel, s.segment")
    assert place.rows(sql) == wanted.rows(sql), "the database differs from that of an undisturbed run"


@case
def common_mistakes(folder):
    place = Place(folder, "--clean", files=12)
    def told(*command):
        done = subprocess.run([args.hearwood, "offload", *command], capture_output=True, text=True)
        assert done.returncode == 2 and done.stdout == "", f"exit {done.returncode}: {done.stdout}{done.stderr}"
        return done.stderr
    card, survey = str(place.card), str(place.survey)
    has(told(survey, card, "--deployment", "H1-march"), "is a survey and", "the card comes first")
    has(told(card, survey, "--deployment", "H1march"), "no such deployment", "did you mean 'H1-march'?")
    has(told(card + "x", survey, "--deployment", "H1-march"), "no such folder; check the path; was the card pulled?")
    empty = folder / "empty"
    empty.mkdir()
    has(told(str(empty), survey, "--deployment", "H1-march"), "no recordings in it; is the card mounted")
    has(told(survey + "/..", survey, "--deployment", "H1-march"), "lie inside each other")
    has(told(card, survey, "--deployment", "H1-march", "--second", card + "/backup"), "lie inside each other")
    assert not (place.card / "backup").exists()


@case
def a_dry_run_writes_nothing(folder):
    place = Place(folder, "--clean", files=12)
    has(place.offload("--dry-run"), "DRY RUN: NOTHING WAS COPIED", "12 recordings", "would be copied")
    assert not (place.survey / "recordings").exists() and not (place.survey / "hearwood").exists()


@case
def links_lead_nowhere(folder):
    place = Place(folder, "--clean", files=12)
    (place.card / "out").symlink_to("/etc")
    (place.card / "out.wav").symlink_to("/etc/passwd")
    (place.card / "round").symlink_to(".")
    has(place.offload(), "12 OF 12", "things on the card that were not copied (3):", "MAY BE WIPED")
    outside = folder / "outside"
    outside.mkdir()
    other = Place(folder / "other", "--clean", files=12)
    other.copies().parent.mkdir()
    other.copies().symlink_to(outside)
    has(other.offload(expect=2), "leads out of the survey folder")
    assert not list(outside.iterdir())


unknown = set(args.cases) - {run.__name__ for run in CASES}
if unknown:
    parser.error(f"no case is called {', '.join(sorted(unknown))}")
failed = 0
for run in CASES:
    if args.cases and run.__name__ not in args.cases:
        continue
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="hearwood-offload-") as temporary:
        try:
            run(Path(temporary) / "p")
            print(f"ok    {run.__name__} ({time.monotonic() - began:.1f} s)", flush=True)
        except (AssertionError, subprocess.SubprocessError, OSError) as error:
            failed += 1
            print(f"FAILED {run.__name__}: {error}", flush=True)
            traceback.print_tb(error.__traceback__, -2)
sys.exit(1 if failed else 0)
