#!/usr/bin/python3
"""Makes the image of a recorder's card: many small recordings in a rhythm, with faults planted among them, and the
survey it belongs to. The same arguments give the same bytes.

    make_card.py FOLDER [--files N] [--seconds S] [--rate HZ] [--clean] [--seed K]

writes FOLDER/card, FOLDER/survey and FOLDER/truth.json (fault -> paths on the card).
"""
import argparse
import datetime
import json
import os
import random
import struct
from pathlib import Path

START = datetime.datetime(2026, 3, 14, 5, 0, 0)


def riff(chunks):
    return b"RIFF" + struct.pack("<I", 4 + len(chunks)) + b"WAVE" + chunks


def chunk(name, body):
    return name + struct.pack("<I", len(body)) + body + b"\0" * (len(body) % 2)


def wave(samples, rate, channels=1):
    fmt = struct.pack("<HHIIHH", 1, channels, rate, rate * 2 * channels, 2 * channels, 16)
    return riff(chunk(b"fmt ", fmt) + chunk(b"data", samples))


class Card:
    def __init__(self, folder, args):
        self.folder = folder
        self.args = args
        self.random = random.Random(args.seed)
        self.truth = {}
        folder.mkdir(parents=True)

    def samples(self, seconds=None):
        count = round((seconds or self.args.seconds) * self.args.rate)
        # Cheap noise that is different in every file.
        return self.random.randbytes(2 * count)

    def put(self, name, data, when):
        path = os.fsencode(self.folder) + b"/" + (name if isinstance(name, bytes) else name.encode())
        os.makedirs(os.path.dirname(path), exist_ok=True)
        with open(path, "wb") as out:
            out.write(data)
        stamp = when.replace(tzinfo=datetime.timezone.utc).timestamp()
        os.utime(path, (stamp, stamp))

    def plant(self, fault, name):
        self.truth.setdefault(fault, []).append(name)


def name_of(when):
    return f"LT04_{when:%Y%m%d_%H%M%S}.wav"


def make_card(folder, args):
    card = Card(folder, args)
    rate = args.rate
    places = list(range(args.files))
    # One of every hundred files, and at least one, per fault, at places that the seed chooses.
    faults = [] if args.clean else ["truncated", "header never finished", "empty", "text", "odd byte", "duplicate",
                                    "clock reset", "gap", "overlap", "short", "wrong rate"]
    chosen = {}
    spots = card.random.sample(places[10:-10:2], len(faults) * max(1, args.files // 1000)) if faults else []
    for i, spot in enumerate(spots):
        chosen[spot] = faults[i % len(faults)]
    previous = None
    for i in places:
        when = START + datetime.timedelta(minutes=10 * i)
        folder_name = f"DATA{i // 1000}/"
        name = folder_name + name_of(when)
        data = wave(card.samples(), rate)
        fault = chosen.get(i)
        if fault == "truncated":
            data = data[: len(data) // 2]
        elif fault == "header never finished":
            data = data[:4] + b"\0\0\0\0" + data[8:40] + b"\0\0\0\0" + data[44:]
        elif fault == "empty":
            data = b""
        elif fault == "text":
            data = b"this is no recording\n"
        elif fault == "odd byte":
            data += b"\x01"
        elif fault == "duplicate" and previous:
            data = previous
        elif fault == "clock reset":
            name = folder_name + f"LT04_20000101_{i % 24:02d}0000.wav"
        elif fault == "gap":
            continue
        elif fault == "overlap":
            name = folder_name + name_of(when + datetime.timedelta(minutes=10) - datetime.timedelta(seconds=1))
            data = wave(card.samples(args.seconds + 5), rate)
            # What overlaps is seen at the next one.
            after = when + datetime.timedelta(minutes=10)
            card.plant(fault, f"DATA{(i + 1) // 1000}/" + name_of(after))
        elif fault == "short":
            data = wave(card.samples(args.seconds / 3), rate)
        elif fault == "wrong rate":
            data = wave(card.samples(), rate * 2)
        if fault and fault != "overlap":
            card.plant(fault, name)
        card.put(name, data, when)
        previous = data
    if not args.clean:
        card.put("settings.txt", b"gain 20\n", START)
        odd = START + datetime.timedelta(minutes=10 * args.files)
        for k, name in enumerate((b"odd/with space_%s.wav", b"odd/new\nline_%s.wav", b"odd/back\\slash_%s.wav",
                                  b"odd/\xff\xfe_%s.wav", b"odd/'quotes\"_%s.wav")):
            when = odd + datetime.timedelta(minutes=10 * k)
            card.put(name % when.strftime("%Y%m%d_%H%M%S").encode(), wave(card.samples(), rate), when)
    return card.truth


SURVEY = """[survey]
title = "Card test"
time_zone = "Asia/Kuching"

[stands]
factor = "nutrient_status"
compare = ["rich", "poor"]
"""
SITES = """site,latitude,longitude,nutrient_status
H1,1.61,110.19,poor
H2,1.62,110.20,poor
A1,1.63,110.21,rich
A2,1.64,110.22,rich
"""
DEPLOYMENTS = """deployment,site,folder,recorder,start,end
H1-march,H1,recordings/H1-march,LT04,2026-03-14T00:00,2026-04-30T00:00
H2-march,H2,recordings/H2-march,LT05,2026-03-14T00:00,2026-04-30T00:00
A1-march,A1,recordings/A1-march,LT06,2026-03-14T00:00,2026-04-30T00:00
A2-march,A2,recordings/A2-march,LT07,2026-03-14T00:00,2026-04-30T00:00
A2-june,A2,recordings/A2-june,LT04,2026-06-14T00:00,2026-06-30T00:00
"""


def make_survey(folder):
    folder.mkdir(parents=True)
    (folder / "survey.toml").write_text(SURVEY)
    (folder / "sites.csv").write_text(SITES)
    (folder / "deployments.csv").write_text(DEPLOYMENTS)


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--files", type=int, default=2000)
    parser.add_argument("--seconds", type=float, default=3)
    parser.add_argument("--rate", type=int, default=8000)
    parser.add_argument("--clean", action="store_true")
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    truth = make_card(arguments.folder / "card", arguments)
    make_survey(arguments.folder / "survey")
    (arguments.folder / "truth.json").write_text(json.dumps(truth, indent=1))
