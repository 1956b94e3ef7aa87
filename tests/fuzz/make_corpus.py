#!/usr/bin/python3
"""Writes the seeds of every fuzz target: make_corpus.py FOLDER. All of them are made here."""
import pathlib
import struct
import sys


def chunk(name, body):
    return name + struct.pack("<I", len(body)) + body + (b"\0" if len(body) % 2 else b"")


def riff(*chunks, size=None):
    body = b"WAVE" + b"".join(chunks)
    return b"RIFF" + struct.pack("<I", len(body) if size is None else size) + body


def fmt(tag, channels, rate, bits):
    align = channels * bits // 8
    return chunk(b"fmt ", struct.pack("<HHIIHH", tag, channels, rate, rate * align, align, bits))


def extensible(channels, rate, bits, tag):
    align = channels * bits // 8
    guid = struct.pack("<H", tag) + bytes.fromhex("000000001000800000aa00389b71")
    return chunk(b"fmt ", struct.pack("<HHIIHH", 0xFFFE, channels, rate, rate * align, align, bits)
                 + struct.pack("<HHI", 22, bits, 0) + guid)


def recordings():
    ramp = b"".join(struct.pack("<h", (i * 997) % 65536 - 32768) for i in range(400))
    bext = chunk(b"bext", b"\0" * 256 + b"recorder".ljust(32, b"\0") + b"LT04".ljust(32, b"\0")
                 + b"2026-04-18" + b"05:40:00" + b"\0" * 264)
    guano = chunk(b"guan", b"GUANO|Version: 1.0\nTimestamp: 2026-04-18T05:40:00+08:00\nSerial: LT04\n")
    yield "pcm16.wav", riff(fmt(1, 1, 24000, 16), chunk(b"data", ramp))
    yield "stereo24.wav", riff(fmt(1, 2, 48000, 24), chunk(b"data", ramp[:798]))
    yield "pcm8.wav", riff(fmt(1, 1, 8000, 8), chunk(b"data", ramp))
    yield "float.wav", riff(fmt(3, 1, 16000, 32), chunk(b"data", struct.pack("<100f", *[i / 100 for i in range(99)], float("nan"))))
    yield "extensible.wav", riff(extensible(2, 32000, 16, 1), chunk(b"data", ramp))
    yield "metadata.wav", riff(bext, fmt(1, 1, 24000, 16), chunk(b"data", ramp), guano)
    yield "unfinished.wav", riff(fmt(1, 1, 24000, 16), b"data" + struct.pack("<I", 0) + ramp, size=0)
    yield "promises.wav", riff(fmt(1, 1, 24000, 16), b"data" + struct.pack("<I", 1 << 30) + ramp, size=0xFFFFFFFF)
    yield "rf64.wav", (b"RF64" + struct.pack("<I", 0xFFFFFFFF) + b"WAVE"
                       + chunk(b"ds64", struct.pack("<QQQI", 900, 800, 400, 0)) + fmt(1, 1, 24000, 16)
                       + b"data" + struct.pack("<I", 0xFFFFFFFF) + ramp)
    yield "no-channels.wav", riff(fmt(1, 0, 24000, 16), chunk(b"data", ramp))


def other_sounds():
    """What libsndfile is shown whole: AIFF, AU, CAF, and FLAC of one frame with sums that do not fit."""
    ramp = b"".join(struct.pack(">h", i * 97 - 9700) for i in range(200))
    comm = b"COMM" + struct.pack(">IhIh", 18, 1, 200, 16) + bytes.fromhex("400EBB80000000000000")
    ssnd = b"SSND" + struct.pack(">III", 8 + len(ramp), 0, 0) + ramp
    yield "pcm16.aiff", b"FORM" + struct.pack(">I", 4 + len(comm) + len(ssnd)) + b"AIFF" + comm + ssnd
    yield "cut.aiff", (b"FORM" + struct.pack(">I", 4 + len(comm) + len(ssnd)) + b"AIFF" + comm + ssnd)[:-100]
    yield "pcm16.au", b".snd" + struct.pack(">IIIII", 24, len(ramp), 3, 24000, 1) + ramp
    yield "cut.au", b".snd" + struct.pack(">IIIII", 24, 4 * len(ramp), 3, 24000, 1) + ramp
    desc = b"desc" + struct.pack(">Qd4sIIIII", 32, 24000.0, b"lpcm", 0, 2, 1, 1, 16)
    yield "pcm16.caf", b"caff\0\1\0\0" + desc + b"data" + struct.pack(">QI", 4 + len(ramp), 0) + ramp
    about = bytes.fromhex("10001000" "000000" "000000" "05dc00f0" "00001000") + bytes(16)
    frame = bytes.fromhex("fff8c508" "00") + b"\x1c" + bytes.fromhex("00" "0000") + b"\0\0"
    yield "silence.flac", b"fLaC" + bytes.fromhex("80000022") + about + frame


def sheets():
    yield "plain.csv", b"site,latitude,longitude,stand\na,1.5,113.2,rich\nb,1.6,113.3,poor\n"
    yield "semicolons.csv", "\ufeffsite;latitude;note\r\na;1,5;\"two\r\nlines; \"\"quoted\"\"\"\r\n\r\nb;0,5;é\r\n".encode()
    yield "broken.csv", b"site,site,\n\"open,1\n,,,,\n\xff\xfe\0x\n"
    yield "tabs.csv", b"site\tlatitude\na\t1e5\nb\t-0.5\n"


def names():
    for i, text in enumerate(["R01_20260418_054000.wav", "20260418T214000Z.flac", "x 20260418T054000+0800.wav",
                              "R-2026-04-18_05-40-00-b.wav", "20260231_250000.wav"]):
        yield f"built-in-{i}", b"\0" + text.encode()
    yield "own", b"\x01*_%Y%m%d$%H%M%S*\nR_20260418$054000.wav"
    yield "own-day", b"\x01%y%j-%H%M%z\n26108-0540+08:00"
    yield "guano", b"\x02GUANO|Version: 1.0\nTimestamp: 2026-04-18T05:40:00.250+08:00\n"
    yield "bext", b"\x032026-04-18\n05:40:00"


def surveys():
    yield "full.toml", b"""[survey]
title = "t"
time_zone = "Asia/Kuching"
[stands]
factor = "stand"
compare = ["rich", "poor"]
block = "river"
[measure]
segment_s = 60
frame = 512
hop = 256
range_hz = [200, 12000]
[bands]
insects = [4000, 12000]
[windows]
dawn = { from = "sunrise-60min", to = "sunrise+120min" }
late = { from = "22:00", to = "03:30" }
[screen]
rain_excludes = true
[contrast]
primary = { index = "aci", window = "dawn" }
seed = 3
level = 0.9
[names]
start_time = "*%Y%m%d_%H%M%S*"
"""
    yield "least.toml", b'[survey]\ntitle="t"\ntime_zone="UTC"\n[stands]\nfactor="stand"\ncompare=["rich","poor"]\n'
    yield "wrong.toml", b'[survey]\ntitel = 3\n[stands]\ncompare = ["a"]\n[bands]\n"x y" = [9, 1]\n[windows]\nw = 7\n'


def answers():
    header = "sheet,listener,clip,birds,insects,frogs,mammals,rain,wind,water,engine,people,other,kinds,fullness,unsure,note"
    yield "two.csv", (header + "\n,ana,001,1,0,0,0,0,0,0,0,0,0,2,3,0,\n,ana,002,0,1,0,0,1,0,0,0,0,0,1,4,1,\"a, b\"\n").encode()
    yield "wrong.csv", (header + "\nx,,009,2,-1,,,,,,,,,99,7,yes,\n").encode()


def main(folder):
    for target, seeds in (("recording", [*recordings(), *other_sounds()]), ("chunks", recordings()), ("sheet", sheets()), ("name", names()),
                          ("survey", surveys()), ("answers", answers())):
        place = pathlib.Path(folder) / target
        place.mkdir(parents=True, exist_ok=True)
        for name, data in seeds:
            (place / name).write_bytes(data)


if __name__ == "__main__":
    main(sys.argv[1])
