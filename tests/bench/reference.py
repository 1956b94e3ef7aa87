#!/usr/bin/env python3
"""Every column of docs/measures.md once more, in double precision with numpy and scipy, straightforwardly:
what the program's numbers are checked against, and what its speed is compared with.

    reference.py FILE.wav [--segment-s 60] [--frame 512] [--hop 512] [--range LOW HIGH] [--step-s 5]
                 [--anthrophony LOW HIGH] [--biophony LOW HIGH] [--band NAME LOW HIGH]...

prints CSV, one row per segment and channel. Missing is an empty field. WAV with integer or float samples
(read by scipy.io.wavfile; 24-bit samples come left-justified in 32-bit integers).
"""
import argparse
import csv
import math
import sys
from dataclasses import dataclass, field

import numpy as np
from scipy.io import wavfile

from reference_events import events_a_minute

NAN = float("nan")


@dataclass
class Settings:
    segment_s: float = 60
    frame: int = 512
    hop: int = 512
    range_hz: tuple = (200, None)
    step_s: float = 5
    anthrophony: tuple = (1000, 2000)
    biophony: tuple = (2000, 8000)
    bands: list = field(default_factory=list)  # (name, low, high)


class Spectra:
    """Amplitudes and powers of all frames of one segment of one channel."""

    def __init__(self, x, fs, settings):
        n, hop = settings.frame, settings.hop
        self.fs, self.n, self.df = fs, n, fs / n
        window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(n) / n)
        starts = np.arange((len(x) - n) // hop + 1) * hop
        self.frames = x[starts[:, None] + np.arange(n)]
        magnitude = np.abs(np.fft.rfft(self.frames * window, axis=1))
        g = np.full(n // 2 + 1, 2.0)
        g[0] = g[-1] = 1
        self.amplitude = magnitude * g / window.sum()
        self.mean_power = (magnitude ** 2).mean(axis=0) * g / (fs * (window ** 2).sum())
        self.frequency = np.arange(n // 2 + 1) * fs / n

    def band(self, low, high):
        """Mask of the band's bins; None when it is not wholly there or empty."""
        if high > self.fs / 2:
            return None
        mask = (self.frequency >= low) & (self.frequency < high)
        return mask if mask.any() else None

    def analysis_range(self, low, high):
        if high is not None:
            return self.band(low, high)
        mask = self.frequency >= low
        return mask if mask.any() else None

    def power(self, mask):
        return self.mean_power[mask].sum() * self.df


def entropy(values):
    p = values / values.sum()
    p = p[p > 0]
    return -(p * np.log(p)).sum()


def level(mean_square):
    return 10 * math.log10(2 * mean_square) if mean_square > 0 else NAN


def aci(s, mask, settings):
    j = math.floor(settings.step_s * s.fs / settings.hop)
    if mask is None or j < 2 or len(s.amplitude) < j:
        return NAN
    total, heard = 0.0, False
    for step in range(len(s.amplitude) // j):
        a = s.amplitude[step * j:(step + 1) * j, mask]
        sums = a.sum(axis=0)
        differences = np.abs(np.diff(a, axis=0)).sum(axis=0)
        heard |= bool((sums > 0).any())
        total += (differences[sums > 0] / sums[sums > 0]).sum()
    return total if heard else NAN


def ndsi(s, settings):
    low, high = s.band(*settings.anthrophony), s.band(*settings.biophony)
    if low is None or high is None:
        return NAN
    a, b = s.power(low), s.power(high)
    return (b - a) / (b + a) if a + b > 0 else NAN


def bi(s, settings):
    mask = s.band(*settings.biophony)
    if mask is None or (s.mean_power[mask] == 0).any():
        return NAN
    levels = 10 * np.log10(s.mean_power[mask])
    return (levels - levels.min()).sum() * s.df / 1000


def hf(s, mask):
    if mask is None or mask.sum() < 2:
        return NAN
    a = s.amplitude[:, mask].mean(axis=0)
    return entropy(a) / math.log(len(a)) if a.sum() > 0 else NAN


def ht(s):
    rms = np.sqrt((s.frames ** 2).mean(axis=1))
    return entropy(rms) / math.log(len(rms)) if len(rms) > 1 and rms.sum() > 0 else NAN


def loud_shares(s):
    shares = []
    for b in range(10):
        if (b + 1) * 1000 > s.fs / 2:
            break
        mask = s.band(b * 1000, (b + 1) * 1000)
        if mask is None:
            return np.array([])
        with np.errstate(divide="ignore"):
            shares.append((20 * np.log10(s.amplitude[:, mask]) > -50).mean())
    return np.array(shares)


def adi(q):
    return entropy(q) if q.sum() > 0 else NAN


def aei(q):
    if not q.sum() > 0:
        return NAN
    return np.abs(q[:, None] - q[None, :]).sum() / (2 * len(q) ** 2 * q.mean())


def standout(s, mask):
    if mask is None:
        return NAN
    bins = [k for k in np.flatnonzero(mask) if 0 < k < s.n // 2]
    energy = s.amplitude[:, bins] ** 2
    q10 = np.sort(energy, axis=0)[math.floor(0.1 * len(energy))] if bins else np.array([])
    if not (q10 > 0).any():
        return NAN
    return (energy >= q10 / -math.log(0.9) * 10 ** 0.6)[:, q10 > 0].mean()


def clipped(x, top):
    """Samples in runs of two or more at or beyond the top code."""
    at_top = np.concatenate([[False], np.abs(x) >= top, [False]])
    edges = np.flatnonzero(np.diff(at_top.astype(int)))
    runs = edges[1::2] - edges[::2]
    return runs[runs >= 2].sum()


def columns(x, fs, settings, top=1.0):
    """Name and value of every column for one segment of one channel; x in [-1, 1), top the clipping level."""
    s = Spectra(x, fs, settings)
    mask = s.analysis_range(*settings.range_hz)
    q = loud_shares(s)
    row = {"aci": aci(s, mask, settings), "ndsi": ndsi(s, settings), "bi": bi(s, settings),
           "hf": hf(s, mask), "ht": ht(s)}
    row["h"] = row["hf"] * row["ht"]
    row.update(adi=adi(q), aei=aei(q), standout=standout(s, s.band(*settings.biophony)),
               events=events_a_minute(x, fs))
    for name, low, high in settings.bands:
        band = s.band(low, high)
        row[f"aci_{name}"] = aci(s, band, settings)
        row[f"standout_{name}"] = standout(s, band)
        row[f"power_{name}_dbfs"] = NAN if band is None else level(s.power(band))
    row["leq_dbfs"] = level((x ** 2).mean())
    loud_to_soft = np.sort((s.frames ** 2).mean(axis=1))[::-1]
    for percent in (10, 50, 90):
        row[f"l{percent}_dbfs"] = level(loud_to_soft[len(loud_to_soft) * percent // 100])
    peak = np.abs(x).max()
    row["peak_dbfs"] = 20 * math.log10(peak) if peak > 0 else NAN
    row["dc_offset"] = x.mean()
    row["clipped_fraction"] = clipped(x, top) / len(x)
    return row


def bits_of(path):
    """Bits a sample of a WAV file: the fmt chunk's last field (the valid bits of the extensible form)."""
    with open(path, "rb") as file:
        data = file.read(4096)
    at = data.find(b"fmt ") + 8
    extensible = data[at:at + 2] == b"\xfe\xff"
    field_at = at + 18 if extensible else at + 14
    return int.from_bytes(data[field_at:field_at + 2], "little")


def read(path):
    """fs, samples as (n, channels) floats in [-1, 1), clipping level."""
    fs, data = wavfile.read(path)
    data = data[:, None] if data.ndim == 1 else data
    if data.dtype.kind == "f":
        return fs, data.astype(float), 1.0
    if data.dtype == np.uint8:
        return fs, (data.astype(float) - 128) / 128, 1 - 2.0 ** -7
    return fs, data / -float(np.iinfo(data.dtype).min), 1 - 2.0 ** (1 - bits_of(path))


def rows(path, settings):
    fs, data, top = read(path)
    return rows_of(data, fs, top, settings)


def rows_of(data, fs, top, settings):
    """data: (n, channels)."""
    size = round(settings.segment_s * fs)
    for segment in range(-(-len(data) // size)):
        piece = data[segment * size:(segment + 1) * size]
        if len(piece) < settings.frame:
            break
        for channel in range(data.shape[1]):
            yield {"segment": segment, "channel": channel, **columns(piece[:, channel], fs, settings, top)}


def parse(argv):
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("file")
    parser.add_argument("--segment-s", type=float, default=60)
    parser.add_argument("--frame", type=int, default=512)
    parser.add_argument("--hop", type=int, default=512)
    parser.add_argument("--step-s", type=float, default=5)
    parser.add_argument("--range", nargs=2, type=float, metavar=("LOW", "HIGH"))
    parser.add_argument("--anthrophony", nargs=2, type=float, default=[1000, 2000])
    parser.add_argument("--biophony", nargs=2, type=float, default=[2000, 8000])
    parser.add_argument("--band", nargs=3, action="append", default=[], metavar=("NAME", "LOW", "HIGH"))
    a = parser.parse_args(argv)
    bands = [(name, float(low), float(high)) for name, low, high in a.band]
    return a.file, Settings(a.segment_s, a.frame, a.hop, tuple(a.range or (200, None)), a.step_s,
                            tuple(a.anthrophony), tuple(a.biophony), bands)


def main(argv):
    path, settings = parse(argv)
    writer = None
    for row in rows(path, settings):
        if writer is None:
            writer = csv.DictWriter(sys.stdout, row.keys(), lineterminator="\n")
            writer.writeheader()
        writer.writerow({k: "" if isinstance(v, float) and math.isnan(v) else
                         repr(float(v)) if isinstance(v, float) else v for k, v in row.items()})


if __name__ == "__main__":
    main(sys.argv[1:])
