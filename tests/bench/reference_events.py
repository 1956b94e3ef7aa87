"""Sound events and the background of a segment (docs/measures.md, section 6) once more, in double precision with
numpy and scipy, straightforwardly."""
import math

import numpy as np
import scipy.ndimage


def smooth(n):
    for factor in (2, 3, 5):
        while n % factor == 0:
            n //= factor
    return n == 1


def event_frame(fs):
    """The even number without prime factors above 5 nearest to fs 512 / 24000; the smaller of two."""
    wanted = fs * 512 / 24000
    return min((n for n in range(16, int(2 * wanted) + 18, 2) if smooth(n)), key=lambda n: (abs(n - wanted), n))


def squares(x, fs):
    """E = A^2 of all frames (rows) and bins, and the frame length."""
    n = event_frame(fs)
    count = (len(x) - n) // n + 1 if len(x) >= n else 0
    frames = x[:count * n].reshape(count, n)
    window = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(n) / n)
    g = np.full(n // 2 + 1, 2.0)
    g[0] = g[-1] = 1
    return (np.abs(np.fft.rfft(frames * window, axis=1)) * g / window.sum()) ** 2, n


def background(e):
    """Mean of each bin's background, 0 where there is none."""
    return np.sort(e, axis=0)[len(e) // 10] / -math.log(0.9)


def background_bands(x, fs):
    """dB per band of 250 Hz over 0 .. fs/2."""
    e, n = squares(x, fs)
    mean, f = background(e), np.arange(n // 2 + 1) * fs / n
    bands = []
    for low in range(0, math.ceil(fs / 2), 250):
        inside = mean[(f >= low) & (f < min(low + 250, fs / 2))]
        level = inside.mean() if len(inside) else 0
        bands.append(10 * math.log10(level) if level > 0 else -math.inf)
    return bands


def whitening(rise, df):
    """max(1, the median of blocks about 1 kHz wide, linear between their centres), frame by frame."""
    w = max(11, round(1000 / df))
    blocks = rise.shape[1] // w
    medians = np.sort(rise[:, :blocks * w].reshape(len(rise), blocks, w), axis=2)[:, :, w // 2]
    centres = np.arange(blocks) * w + (w - 1) / 2
    lift = np.array([np.interp(np.arange(rise.shape[1]), centres, row) for row in medians])
    return np.maximum(1, lift)


def events(x, fs):
    """None when missing; else a list of dicts: start, duration (frames), low, high (bins), peak_dbfs."""
    e, n = squares(x, fs)
    if fs < 21000 or len(e) == 0:
        return None
    df = fs / n
    f = np.arange(n // 2 + 1) * fs / n
    bins = np.flatnonzero((f >= 800) & (f < 10500))
    e = e[:, bins]
    mean = background(e)
    if not (mean > 0).any():
        return None
    s = scipy.ndimage.uniform_filter(e, 3, mode="nearest")
    rise = np.where(mean > 0, s / np.where(mean > 0, mean, 1), 0)
    up = rise / whitening(rise, df) >= 10 ** 0.5
    labels, _ = scipy.ndimage.label(up, np.ones((3, 3)))
    found = []
    for label, (t, k) in enumerate(scipy.ndimage.find_objects(labels), 1):
        inside = labels[t, k] == label
        height = k.stop - k.start
        if ((t.stop - t.start) * n / fs >= 0.080 and height >= 2 and height * df >= 90 and inside.sum() >= 12):
            found.append({"start": t.start, "duration": t.stop - t.start, "low": int(bins[k.start]),
                          "high": int(bins[k.stop - 1]), "peak_dbfs": 10 * math.log10(s[t, k][inside].max())})
    return sorted(found, key=lambda event: (event["start"], event["low"], event["high"]))


def events_a_minute(x, fs):
    found = events(x, fs)
    return float("nan") if found is None else len(found) / (len(x) / fs / 60)
