#!/usr/bin/python3
"""Holds our reading of recordings against programs that are not ours: files written by scipy.io.wavfile, by
Python's wave module, by the flac and sox programs; and a disk that fails in the middle of one.
Usage: formats_check.py DUMP_AUDIO FAULT_LIBRARY
"""
import os
import subprocess
import sys
import tempfile
import wave
from pathlib import Path

import numpy as np
from scipy.io import wavfile

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from support import check  # noqa: E402

dump, fault_library = sys.argv[1:]
INT16, INT32, FLOAT32, FLOAT64 = range(4)
TYPES = {INT16: "<i2", INT32: "<i4", FLOAT32: "<f4", FLOAT64: "<f8"}


def read(path):
    out = subprocess.run([dump, path], capture_output=True, text=True)
    check(out.returncode == 0, f"{path}: {out.stdout}{out.stderr}")
    facts, samples = out.stdout.splitlines()
    container, *numbers = facts.split()
    rate, channels, bits, kind, frames, damages = map(int, numbers)
    values = np.frombuffer(bytes.fromhex(samples), TYPES[kind]).reshape(frames, channels)
    return container, rate, bits, kind, damages, values


def same(path, container, rate, bits, kind, expected):
    """What is read of the file is what was written, and nothing is told of it."""
    got = read(path)
    check(got[:5] == (container, rate, bits, kind, 0), f"{path.name}: {got[:5]}")
    expected = expected.reshape(len(expected), -1)
    check(np.array_equal(got[5], expected), f"{path.name}: {got[5].shape} samples, not the {expected.shape} that were written")


random = np.random.default_rng(5)
int16 = random.integers(-32768, 32768, (500, 2)).astype(np.int16)
int24 = random.integers(-(2**23), 2**23, 500).astype(np.int32)
int32 = random.integers(-(2**31), 2**31, (300, 3)).astype(np.int32)

with tempfile.TemporaryDirectory() as folder:
    folder = Path(folder)

    wavfile.write(folder / "scipy16.wav", 44100, int16)
    same(folder / "scipy16.wav", "WAV", 44100, 16, INT16, int16)
    unsigned = random.integers(0, 256, 500).astype(np.uint8)
    wavfile.write(folder / "scipy8.wav", 8000, unsigned)
    same(folder / "scipy8.wav", "WAV", 8000, 8, INT16, (unsigned.astype(np.int16) - 128) * 256)
    wavfile.write(folder / "scipy32.wav", 48000, int32)
    same(folder / "scipy32.wav", "WAV", 48000, 32, INT32, int32)
    for name, dtype, bits, kind in (("f32", np.float32, 32, FLOAT32), ("f64", np.float64, 64, FLOAT64)):
        floats = random.normal(size=(400, 2)).astype(dtype)
        wavfile.write(folder / f"{name}.wav", 192000, floats)
        same(folder / f"{name}.wav", "WAV", 192000, bits, kind, floats)

    with wave.open(str(folder / "wave24.wav"), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(3)
        out.setframerate(96000)
        out.writeframes(b"".join(int(v).to_bytes(3, "little", signed=True) for v in int24))
    same(folder / "wave24.wav", "WAV", 96000, 24, INT32, int24 << 8)

    for name, bits, kind, expected in (("scipy16", 16, INT16, int16), ("wave24", 24, INT32, int24 << 8)):
        source, target = folder / f"{name}.wav", folder / f"{name}.flac"
        subprocess.run(["flac", "-s", "-f", source, "-o", target], check=True)
        same(target, "FLAC", read(source)[1], bits, kind, expected)
    # A FLAC whose header has no length (as from a pipe), on a disk that fails in its middle: both are told.
    noise = random.integers(-32768, 32768, 200_000).astype(np.int16)
    wavfile.write(folder / "long.wav", 48000, noise)
    subprocess.run(["flac", "-s", "-f", folder / "long.wav", "-o", folder / "long.flac"], check=True)
    data = bytearray((folder / "long.flac").read_bytes())
    data[21:26] = bytes([data[21] & 0xF0, 0, 0, 0, 0])  # RFC 9639, section 8.2: 36 bits of samples
    (folder / "piped.flac").write_bytes(data)
    os.environ |= {"LD_PRELOAD": support.preloadable(fault_library), "FAULT_PATH": "piped.flac", "FAULT_BAD": f"{len(data) // 2}-{len(data)}"}
    got = read(folder / "piped.flac")
    del os.environ["LD_PRELOAD"]
    check(10_000 < len(got[5]) < 150_000 and np.array_equal(got[5][:, 0], noise[:len(got[5])]),
          f"piped.flac: {len(got[5])} frames before the failure, or other samples")
    check(got[4] == 2, f"{got[4]} damages told of a header without its length and a failing disk")

    source = folder / "scipy16.wav"
    for ending, container in (("aiff", "AIFF"), ("w64", "W64"), ("caf", "CAF"), ("au", "AU")):
        target = folder / f"sox.{ending}"
        subprocess.run(["sox", source, "-b", "16", "-e", "signed-integer", target], check=True)
        same(target, container, 44100, 16, INT16, int16)
    # A pipe leaves the sizes unknown: the length of the file must count.
    piped = subprocess.run(["sox", source, "-t", "wav", "-"], check=True, capture_output=True).stdout
    (folder / "piped.wav").write_bytes(piped)
    got = read(folder / "piped.wav")
    check(np.array_equal(got[5], int16), "piped.wav: samples differ")
    check(got[4] == 0, f"{got[4]} damages told of a whole file whose header has no sizes")
sys.exit(support.finish())
