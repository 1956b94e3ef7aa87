"""The quantities of docs/screens.md in numpy, straight from their definitions: slow, plain, and written apart
from src/screen, which is checked against it."""
import numpy as np


def frames_power(x, n=512, h=512):
    m = 1 + (len(x) - n) // h
    w = 0.5 - 0.5 * np.cos(2 * np.pi * np.arange(n) / n)
    idx = np.arange(m)[:, None] * h + np.arange(n)
    return np.abs(np.fft.rfft(x[idx] * w, axis=1)) ** 2


def band(fs, lo, hi, n=512):
    f = np.arange(n // 2 + 1) * fs / n
    return (f >= lo) & (f < hi)


def summary(x, fs, n=512, h=512, step_s=5):
    """Ticks, mean power and the ratios of the complexity index: what the program keeps of a segment."""
    p = frames_power(x, n, h)
    t = max(1, int(np.rint(0.0213 * fs / h)))
    edges = [(1000 * i, 1000 * i + 1000) for i in range(1, 8)] + [(60, 250), (500, 1000)]
    m = len(p) // t
    ticks = np.stack([p[:m * t, band(fs, *e, n)].sum(1).reshape(m, t).sum(1) for e in edges], 1)
    a = np.sqrt(p)
    j = int(step_s * fs / h)
    steps = len(p) // j
    ratio = np.zeros(n // 2 + 1)
    for s in range(steps):
        block = a[s * j:(s + 1) * j]
        total = block.sum(0)
        ratio += np.where(total > 0, np.abs(np.diff(block, axis=0)).sum(0) / np.where(total > 0, total, 1), 0)
    return {"fs": fs, "window_power": np.sum((0.5 - 0.5 * np.cos(2 * np.pi * np.arange(n) / n)) ** 2), "h": h, "n": n, "tick_s": t * h / fs, "ticks": ticks, "mean_power": p.mean(0),
            "aci_ratio": ratio, "steps": steps,
            "frame_ms": np.mean(x[:len(p) * h].reshape(-1, h) ** 2, 1) if n == h else None}


def blocks_of(v, n):
    b = len(v) // n
    return v[:b * n].reshape(b, n, *v.shape[1:])


def level(s):
    return 10 * np.log10(s + 1e-30)


def mirrored(first, last):
    k = np.arange(first, last)
    return np.where(k < 0, -1 - k, k)


def dips(s, lo, hi):
    """How far each bin of the band falls below the median of the bins within 250 Hz: a steady tone's trace.
    Below bin 0 the bins are mirrored, bin 0 twice."""
    a = s["aci_ratio"].astype(float) / s["steps"] / (2 - np.sqrt(2))
    reach = max(1, int(np.rint(250 / (s["fs"] / s["n"]))))
    return np.array([max(0, np.median(a[mirrored(k - reach, k + reach + 1)]) - a[k])
                     for k in np.flatnonzero(band(s["fs"], lo, hi, s["n"]))])


def quantities(s):
    ticks, tick_s, fs = s["ticks"].astype(float), s["tick_s"], s["fs"]
    ticks = ticks[(ticks > 0).all(1)]  # without digital silence
    n = int(np.rint(0.5 / tick_s))
    bins = [band(fs, 1000 * i, 1000 * i + 1000, s["n"]).sum() for i in range(1, 8)]
    seven = blocks_of(level(ticks[:, :7]), n)
    med = np.median(seven, axis=1, keepdims=True)
    k = (seven > med).sum(2).astype(float)
    q = {"patter": np.mean(k.var(1)) / (7 / 4)}
    kbar, var = k.mean(), k.var()
    rs = []
    for lag in range(1, n):
        if 0.04 <= lag * tick_s <= 0.18:
            rs.append(np.mean((k[:, :-lag] - kbar) * (k[:, lag:] - kbar)) / var + 1 / (n - 1))
    q["memory"] = np.sqrt(np.mean(np.square(rs)))
    z = np.median(np.maximum(seven - med, -60), axis=2).ravel()
    z5, z50, z95 = np.quantile(z, [0.05, 0.5, 0.95])
    q["tail"] = (z95 + z5 - 2 * z50) / (z95 - z5)
    for name, lo, hi in (("crackle", 1000, 2000), ("lines", 200, 500)):
        q[name] = np.mean(s["aci_ratio"][band(fs, lo, hi, s["n"])]) / s["steps"] / (2 - np.sqrt(2))
    per_bin = lambda i, lo, hi: level(ticks[:, i] / band(fs, lo, hi, s["n"]).sum())
    four = ticks[:, 3:7].sum(1) / band(fs, 4000, 8000, s["n"]).sum()
    q["tilt"] = np.median(level(four)) - np.median(per_bin(0, 1000, 2000))
    low, mid = per_bin(7, 60, 250), per_bin(8, 500, 1000)
    q["rumble"] = np.median(low) - np.median(mid)
    second = int(np.rint(1 / tick_s))
    steps = lambda v: np.median(np.abs(np.diff(np.median(blocks_of(v, second), axis=1))))
    q["gust"] = steps(low)
    one = per_bin(0, 1000, 2000)
    q["surge"] = steps(one)
    q["swing"] = np.quantile(one, 0.9) - np.quantile(one, 0.1)
    tenths = level(blocks_of(ticks[:, 7], int(np.rint(0.1 / tick_s))).mean(1))
    q["flicker"] = np.median(np.abs(np.diff(tenths)))
    fit = band(fs, 100, 4000, s["n"])
    q["slope"] = np.polyfit(np.log2(np.flatnonzero(fit) * fs / s["n"]), level(s["mean_power"][fit]), 1)[0]
    top = lambda lo, hi: s["mean_power"][band(fs, lo, hi, s["n"])]
    if min(map(len, (top(60, 120), top(140, 450), top(600, 1000)))) == 0:
        q["hump"] = np.nan
    else:
        q["hump"] = level(top(140, 450).max()) - max(level(top(60, 120).max()), 10 + level(top(600, 1000).mean()))
    q["hum"] = np.mean(dips(s, 60, 500))
    q["whine"] = np.mean(np.sort(dips(s, 500, 3000))[-3:])
    q["throb"] = np.quantile(throbs(low, tick_s), 0.75)
    q["drops"] = q["patter"] * max(0, 1 - 2.5 * q["memory"])
    # Pbar of measures.md: one-sided, so bins other than the first and the last count twice.
    p = s["mean_power"] / (fs * s["window_power"]) * np.where(np.isin(np.arange(s["n"] // 2 + 1), (0, s["n"] // 2)), 1, 2)
    air = np.arange(s["n"] // 2 + 1) * fs / s["n"] >= 200
    q["air_dbfs"] = 10 * np.log10(2 * np.sum(p[air]) * fs / s["n"])
    flat = p[band(fs, 200, 8000, s["n"])]
    q["flatness_db"] = 10 * np.log10(np.exp(np.mean(np.log(flat))) / np.mean(flat))
    q["silent_share"] = np.mean(s["frame_ms"] == 0)
    return q


def scores(q):
    """rain_score and engine_score of docs/screens.md, section 4, from the quantities."""
    above = lambda x, hinge, most: min(max(x - hinge, 0), most)
    octaves = lambda x, least, most, unit=1: np.log2(min(max(x, least), most) / unit)
    share = lambda x, least, most: min(max((x - least) / (most - least), 0), 1)
    frogs = 30 * share(q["hump"], 3, 6) * share(q["lines"], 0.8, 0.9) * (1 - share(q["memory"], 0.35, 0.45))
    return {
        "rain_score": -0.4 + 6.5 * octaves(q["drops"], 0.5, 4.6) - 12 * above(q["tail"], 0.15, 0.8)
        - 12 * above(q["tail"], 0.3, 0.5) - 13 * above(q["crackle"], 1.06, 0.68) - 0.55 * above(q["tilt"], 2, 12)
        - 0.25 * above(-8 - q["tilt"], 0, 20) - above(q["surge"], 0.8, 4) - 0.18 * above(q["swing"], 14, 20)
        - 14.5 * above(q["throb"], 0.1, 0.2),
        "engine_score": -5.85 + 1.95 * octaves(q["throb"], 0.05, 0.8, 0.05) + 60 * above(q["throb"], 0.7, 0.2)
        + 0.9 * octaves(q["hum"], 0.006, 0.15, 0.006) + 23.5 * above(0.98 - q["lines"], 0, 0.15)
        + 32 * above(q["whine"], 0.04, 0.1) - 4.5 * octaves(q["flicker"], 0.7, 3) - 0.88 * min(max(q["slope"], -5), 2)
        - 0.48 * above(q["swing"], 20, 10) - 0.55 * above(q["rumble"], 16, 10)
        - (0 if np.isnan(q["hump"]) else frogs)}


def throbs(values, tick_s):
    five = int(np.rint(5 / tick_s))
    half = int(np.rint(0.5 / tick_s)) // 2
    out = []
    for u in blocks_of(values, five):
        c = np.concatenate([[0], np.cumsum(u)])
        i = np.arange(five)
        lo, hi = np.maximum(i - half, 0), np.minimum(i + half + 1, five)
        u = u - (c[hi] - c[lo]) / (hi - lo)
        cap = 3 * np.median(np.abs(u))
        u = np.clip(u, -cap, cap)
        e = np.sum(u * u)
        out.append(max(np.sum(u[:-l] * u[l:]) / e for l in range(1, five) if 0.04 <= l * tick_s <= 0.25) if e else 0)
    return np.array(out)
