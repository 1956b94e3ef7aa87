#!/usr/bin/env python3
"""Every column against reference.py, which works in double precision, and reference.py's spectra against
scipy.signal (welch, stft, windows.hann: SciPy's own implementations).

    compare_reference.py ANALYSE     the tool built from analyse.cpp

Tolerance: 2e-4 relative, 1e-6 absolute near 0, 0.002 for standout, and missing exactly where missing is due.
The real sounds are those of sample-audio/, or of the folder that HEARWOOD_REAL_AUDIO names.
"""
import csv
import io
import os
import pathlib
import subprocess
import sys
import tempfile
import warnings

import numpy as np
import scipy.signal
from scipy.io import wavfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from support import check  # noqa: E402
import reference  # noqa: E402
import reference_events  # noqa: E402

warnings.simplefilter("ignore", wavfile.WavFileWarning)  # chunks that it passes over

ANALYSE = sys.argv[1] if len(sys.argv) > 1 else "analyse"
BANDS = ["--band", "insects", "4000", "12000", "--band", "frogs", "500", "3000"]


# ---- the reference itself against scipy -------------------------------------------------------------------------

def check_against_scipy():
    rng = np.random.default_rng(1)
    fs, x = 22050, rng.standard_normal(22050 * 3)
    for frame, hop in ((512, 512), (512, 256), (400, 130)):
        s = reference.Spectra(x, fs, reference.Settings(frame=frame, hop=hop))
        window = scipy.signal.windows.hann(frame, sym=False)
        _, welch = scipy.signal.welch(x, fs, window, frame, frame - hop, detrend=False, scaling="density")
        check(np.allclose(s.mean_power, welch, rtol=1e-12), f"welch {frame}/{hop}")
        # stft scales by the window's sum; g doubles all but the first and last bin.
        _, _, z = scipy.signal.stft(x, fs, window, frame, frame - hop, boundary=None, padded=False)
        amplitude = 2 * np.abs(z.T)
        amplitude[:, [0, -1]] /= 2
        check(np.allclose(s.amplitude, amplitude, rtol=1e-9), f"stft {frame}/{hop}")


# ---- the analyser against the reference ---------------------------------------------------------------------------

def analyser_rows(path, options, tool):
    out = subprocess.run([ANALYSE, path, *options, *tool], capture_output=True, text=True, check=True).stdout
    return list(csv.DictReader(io.StringIO(out)))


def reference_rows(path, options):
    file, settings = reference.parse([path, *options])
    return [{k: "" if isinstance(v, float) and np.isnan(v) else v for k, v in row.items()}
            for row in reference.rows(file, settings)]


def compare(what, path, options, tool=()):
    """Prints the largest difference as a share of what is allowed."""
    rows, expected = analyser_rows(path, options, tool), reference_rows(path, options)
    check(len(rows) == len(expected) > 0, f"{what}: {len(rows)} rows for {len(expected)}")
    worst = (0, "")
    for row, truth in zip(rows, expected):
        check(list(row) == list(truth), f"{what}: columns {list(row)}")
        for name, value in truth.items():
            where = f"{what}, segment {truth['segment']}, {name}: {row[name]} for {value}"
            if (row[name] == "") != (value == ""):
                check(False, where)
                continue
            if value == "":
                continue
            allowed = 0.002 if name.startswith("standout") else max(2e-4 * abs(value), 1e-6)
            share = abs(float(row[name]) - float(value)) / allowed
            check(share <= 1, where)
            worst = max(worst, (share, name))
    print(f"{what}: {len(rows)} rows, largest difference {worst[0]:.4f} of what is allowed ({worst[1]})")


def dawn(fs, seconds, loudness=0.02, seed=1):
    """Noise, a hum, gliding whistles and ticks: something in every band, nothing periodic with the frames."""
    rng = np.random.default_rng(seed)
    t = np.arange(int(fs * seconds)) / fs
    x = loudness * rng.standard_normal(len(t)) * (1 + 0.5 * np.sin(2 * np.pi * 0.11 * t))
    x += 0.2 * np.sin(2 * np.pi * (3000 * t + 60 * np.sin(2 * np.pi * 3 * t))) * (np.sin(2 * np.pi * 0.7 * t) > 0.8)
    x += 0.05 * np.sin(2 * np.pi * 120.3 * t) + 0.01
    x[rng.integers(0, len(t), len(t) // 20000)] += 0.5
    return x


def to_codes(x, bits):
    top = 2 ** (bits - 1)
    return np.clip(np.round(x * top), -top, top - 1).astype(np.int64)


def write_wav(path, fs, x, bits):
    """PCM of 8, 16, 24 or 32 bit, or 32-bit float (bits 0); x one column a channel."""
    if bits == 0:
        wavfile.write(path, fs, x.astype(np.float32))
    elif bits == 8:
        wavfile.write(path, fs, (to_codes(x, 8) + 128).astype(np.uint8))
    elif bits in (16, 32):
        wavfile.write(path, fs, to_codes(x, bits).astype(np.int16 if bits == 16 else np.int32))
    else:
        import wave
        codes = to_codes(x, 24).reshape(len(x), -1).astype("<i4")
        with wave.open(path, "wb") as file:
            file.setnchannels(codes.shape[1])
            file.setsampwidth(3)
            file.setframerate(fs)
            file.writeframes(codes.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())


def check_synthetic(folder):
    def case(what, fs, x, bits=16, options=(), tool=()):
        path = str(folder / f"{what.replace(' ', '_').replace('/', '_')}.wav")
        write_wav(path, fs, x, bits)
        compare(what, path, [*BANDS, *options], tool)

    for fs in (8000, 16000, 22050, 44100, 48000, 96000):
        case(f"{fs} Hz", fs, dawn(fs, 23), options=["--segment-s", "20"])
    case("192000 Hz", 192000, dawn(192000, 6), options=["--segment-s", "6"])
    case("a minute and a bit", 48000, dawn(48000, 61.3))
    case("baseline", 48000, dawn(48000, 20), tool=["--baseline"])
    case("odd blocks", 48000, dawn(48000, 10), tool=["--block", "777"])
    case("frames 400/130", 44100, dawn(44100, 10), options=["--frame", "400", "--hop", "130"])
    case("half overlap", 48000, dawn(48000, 10), options=["--frame", "1024", "--hop", "512"])
    case("gaps 256/300", 48000, dawn(48000, 10), options=["--frame", "256", "--hop", "300"])
    case("step and range", 48000, dawn(48000, 10), options=["--step-s", "0.7", "--range", "500", "9000"])
    case("stereo", 48000, np.stack([dawn(48000, 12), dawn(48000, 12, 0.0005, 2)], 1))
    for bits in (8, 24, 32, 0):
        case(f"{bits or 'float'} bit", 48000, dawn(48000, 12, 0.02 if bits == 8 else 0.0005), bits)
    case("clipped", 48000, 8 * dawn(48000, 12))
    case("very soft", 48000, 1e-3 * dawn(48000, 12))
    case("silence", 48000, np.zeros(48000 * 3))
    half = dawn(48000, 12)
    half[48000:48000 * 4] = 0
    case("partly silent", 48000, half)
    case("one frame", 48000, dawn(48000, 512.5 / 48000))
    case("long segment", 48000, dawn(48000, 400), options=["--segment-s", "400"])


def chorus(fs, seconds, seed=3):
    """Noise of a steady level with calls of every length, height and loudness, many of them crossing."""
    rng = np.random.default_rng(seed)
    x = 0.01 * rng.standard_normal(int(fs * seconds))
    for _ in range(int(seconds * 4)):
        t = np.arange(int(rng.uniform(0.03, 0.5) * fs)) / fs
        at = rng.integers(0, len(x) - len(t))
        glide = rng.uniform(-2000, 2000)
        x[at:at + len(t)] += rng.uniform(0.002, 0.1) * np.sin(2 * np.pi * (rng.uniform(900, 9500) + glide * t) * t)
    return x


def compare_events(what, path, tool=()):
    """Every event of a file of one segment, cell by cell, and the background of every band."""
    fs, data, _ = reference.read(path)
    expected = reference_events.events(data[:, 0], fs) or []  # none where they are missing; compare() holds that
    found = analyser_rows(path, ["--segment-s", "60"], ["--events", *tool])
    places = [tuple(int(row[k]) for k in ("start", "duration", "low", "high")) for row in found]
    check(places == [tuple(e[k] for k in ("start", "duration", "low", "high")) for e in expected],
          f"{what}: other events, {len(found)} for {len(expected)}")
    for row, event in zip(found, expected):
        check(abs(float(row["peak_dbfs"]) - event["peak_dbfs"]) < 0.001, f"{what}: peak {row} for {event}")
    out = subprocess.run([ANALYSE, path, "--segment-s", "60", "--background", *tool], capture_output=True, text=True,
                         check=True).stdout
    bands = [float(cell) if cell else -np.inf for cell in out.strip().split(",")[2:]]
    truth = reference_events.background_bands(data[:, 0], fs)
    # Outside the events' range q10 comes from steps of 0.094 dB; sound of 16 bits is transformed in single precision, whose
    # rounding (2^-24 of full scale, -144.5 dB) adds to a level in amplitude.
    bands, truth = np.array(bands), np.array(truth)
    there = np.isfinite(truth)
    allowed = 0.05 + 20 * np.log10(1 + 10 ** ((-144.5 - truth[there]) / 20))
    check(len(bands) == len(truth) and (np.isfinite(bands) == there).all()
          and (np.abs(bands[there] - truth[there]) <= allowed).all(), f"{what}: background")
    print(f"{what}: {len(found)} events, {len(bands)} bands")


def check_events(folder):
    for fs in (21000, 22050, 24000, 32000, 44100, 48000, 96000, 192000):
        for bits in (16, 24):
            path = str(folder / f"chorus-{fs}-{bits}.wav")
            write_wav(path, fs, chorus(fs, 20), bits)
            compare_events(f"chorus at {fs} Hz, {bits} bit", path)
    path = str(folder / "chorus-24000-16.wav")
    compare_events("chorus, baseline", path, ["--baseline"])
    compare_events("chorus, odd blocks", path, ["--block", "777"])
    compare_events("chorus, other frames of the survey's own", path, ["--frame", "256"])


def check_real(folder):
    audio = pathlib.Path(os.environ.get("HEARWOOD_REAL_AUDIO") or support.SOURCE / "sample-audio")
    clips = [p for kind in sorted(audio.iterdir()) for p in sorted(kind.glob("*.ogg"))[:3]]
    check(len(clips) >= 15, f"only {len(clips)} real sounds in {audio}")
    for path in clips:
        decoded = str(folder / "decoded.wav")
        for kind in ("int16", "float"):
            subprocess.run([ANALYSE, str(path), "--decode", decoded, "--as", kind], check=True)
            compare(f"{path.parent.name}/{path.name} as {kind}", decoded,
                    [*BANDS, "--segment-s", "3", "--step-s", "1"])
            compare_events(f"{path.parent.name}/{path.name} as {kind}", decoded)


if __name__ == "__main__":
    check_against_scipy()
    with tempfile.TemporaryDirectory() as scratch:
        check_synthetic(pathlib.Path(scratch))
        check_events(pathlib.Path(scratch))
        check_real(pathlib.Path(scratch))
    sys.exit(support.finish())
