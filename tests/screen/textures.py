"""Sounds to judge the screens on: textures of 60 s joined from short real clips, at known levels, alone and
mixed with real birds or noise, and a few synthetic sounds of which no recordings are at hand.

Every draw is seeded by the texture's own name, so that a texture does not depend on how many others are made.
Levels are in dBFS with a full-scale sine at 0, as everywhere in the program.
"""
import itertools
import pathlib
import sys
import zlib

import numpy as np
from scipy import signal

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402

CLASSES = ["rain", "sea-waves", "helicopter", "chainsaw", "fire", "rooster"]
LEVELS = [-45, -40, -34, -28, -23, -17, -12]
SECONDS = 60


def read_sound(path):
    """First channel, and the rate."""
    samples, rate = support.read_sound(path)
    return samples[:, 0], rate


def resampled(x, rate, wanted):
    if rate == wanted:
        return x
    g = np.gcd(int(rate), int(wanted))
    return signal.resample_poly(x, wanted // g, rate // g)


def rng_for(name):
    return np.random.default_rng(zlib.crc32(name.encode()))


def level_of(x):
    return 10 * np.log10(2 * np.mean(x * x) + 1e-30)


def at_level(x, dbfs):
    return x * 10 ** ((dbfs - level_of(x)) / 20)


def trimmed(x):
    """Without the digital silence that pads short clips."""
    loud = np.flatnonzero(np.abs(x) > 2e-4)
    return x[loud[0]:loud[-1] + 1] if len(loud) > 4000 else x


def joined(clips, rate, seconds=SECONDS, fade_s=0.02):
    """The clips one after the other, again and again, with short cross-fades."""
    fade = int(fade_s * rate)
    ramp = np.linspace(0, 1, fade)
    out = np.zeros(int(seconds * rate) + 12 * rate)
    at, i = 0, 0
    while at < seconds * rate:
        c = clips[i % len(clips)].copy()
        c[:fade] *= ramp
        c[-fade:] *= ramp[::-1]
        out[at:at + len(c)] += c[:len(out) - at]
        at += len(c) - fade
        i += 1
    return out[:int(seconds * rate)]


class Sounds:
    """The real clips, resampled once per rate, and the halves of the data set that cross-validation holds out."""

    def __init__(self, root, extra=None):
        self.root = pathlib.Path(root)
        self.extra = pathlib.Path(extra) if extra else None
        self.cache = {}
        self.clips = {c: sorted((self.root / c).glob("*.ogg")) for c in CLASSES}

    def folds(self, label):
        """{fold: clips}: six folds by source recording (the number before the take's letter), none in two."""
        folds = {}
        for big in "123456789":
            sources = sorted({p.name.rsplit("-", 1)[0] for p in self.clips[label] if p.name.startswith(big + "-")})
            for i, s in enumerate(sources):
                folds.setdefault(f"{big}{'ab'[i % 2]}", []).extend(
                    p for p in self.clips[label] if p.name.rsplit("-", 1)[0] == s)
        return folds

    def get(self, path, rate, trim=True):
        key = (path, rate, trim)
        if key not in self.cache:
            x, r = read_sound(path)
            if trim:
                x = trimmed(x)
            self.cache[key] = resampled(x, r, rate)
        return self.cache[key]

    def birds(self, rate, rng, fold):
        """A minute of birds: the real dawn where it is at hand, else single calls over silence."""
        dawn = self.extra and self.extra / "usr/share/gnome-pomodoro/sounds/birds.ogg"
        calls = self.calls()
        if dawn and dawn.exists() and (not calls or rng.random() < 0.5):
            x = self.get(dawn, rate, False)
            start = rng.integers(0, len(x) - SECONDS * rate)
            return x[start:start + SECONDS * rate]
        roosters = self.folds("rooster")
        pool = calls or sorted((self.root / "birds").glob("*.ogg")) + roosters.get(fold, self.clips["rooster"])
        return self.scattered(pool, rate, rng, rng.integers(6, 40))

    def calls(self):
        if not self.extra:
            return []
        stamps = self.extra / "usr/share/tuxpaint/stamps/animals"
        return [p for d in ("birds", "insects", "amphibians") for p in sorted((stamps / d).glob("*.ogg"))
                if "_desc" not in p.name]

    def scattered(self, pool, rate, rng, count):
        out = np.zeros(SECONDS * rate)
        for _ in range(count):
            c = self.get(pool[rng.integers(len(pool))], rate)[:15 * rate]
            c = c / (np.max(np.abs(c)) + 1e-9) * 10 ** (-rng.uniform(0, 20) / 20)
            at = rng.integers(0, max(1, len(out) - min(len(c), rate)))
            n = min(len(c), len(out) - at)
            out[at:at + n] += c[:n]
        return out


def coloured(n, rng, slope_db_per_octave):
    """Gaussian noise with a power law."""
    spectrum = np.fft.rfft(rng.standard_normal(n))
    f = np.fft.rfftfreq(n)
    f[0] = f[1]
    return np.fft.irfft(spectrum * (f / f[-1]) ** (slope_db_per_octave / 6.02), n)


def synthetic(kind, rate, rng):
    """Sounds of which we have no recordings; read the figures for them with that in mind."""
    n = SECONDS * rate
    t = np.arange(n) / rate
    if kind == "wind":
        gust = coloured(SECONDS * 8, rng, -4)
        gust = np.interp(t, np.arange(len(gust)) / 8, gust / gust.std())
        rumble = signal.lfilter(*signal.butter(2, [2 * 15 / rate, 2 * 220 / rate], "band"), rng.standard_normal(n))
        leaves = coloured(n, rng, -2)
        strong = 10 ** (gust * rng.uniform(4, 9) / 20)
        return rumble / rumble.std() * strong + leaves / leaves.std() * strong ** 0.6 * 10 ** (-rng.uniform(14, 28) / 20)
    if kind == "rapids":
        x = coloured(n, rng, rng.uniform(-6, -2))
        x /= x.std()
        for _ in range(int(rng.uniform(20, 250) * SECONDS)):
            f, d = rng.uniform(400, 4000), rng.uniform(0.005, 0.03)
            m = int(4 * d * rate)
            at = rng.integers(0, n - m)
            tt = np.arange(m) / rate
            x[at:at + m] += rng.exponential(0.5) * np.exp(-tt / d) * np.sin(2 * np.pi * f * tt)
        return x
    if kind == "cicadas":
        low = rng.uniform(2500, 5500)
        high = min(low + rng.uniform(800, 3500), 0.45 * rate)
        buzz = signal.sosfilt(signal.butter(4, [low, high], "band", fs=rate, output="sos"), rng.standard_normal(n))
        pulse = 1 + rng.uniform(0, 1) * signal.sawtooth(2 * np.pi * rng.uniform(20, 200) * t)
        swell = 10 ** (rng.uniform(0, 4) * np.sin(2 * np.pi * t / rng.uniform(3, 20)) / 20)
        back = coloured(n, rng, -3)
        return buzz / buzz.std() * pulse * swell * 10 ** (rng.uniform(0, 22) / 20) + back / back.std()
    if kind == "crickets":
        x = coloured(n, rng, -3)
        x /= x.std()
        for _ in range(rng.integers(2, 6)):
            f, rep = rng.uniform(2200, min(7500, 0.45 * rate)), rng.uniform(1.5, 30)
            on = signal.square(2 * np.pi * rep * t, duty=rng.uniform(0.2, 0.6)) > 0
            env = signal.lfilter(*signal.butter(1, 2 * 150 / rate), on.astype(float))
            x += env * np.sin(2 * np.pi * f * t) * 10 ** (rng.uniform(-10, 12) / 20)
        return x
    if kind == "quiet":
        x = coloured(n, rng, rng.uniform(-4, 0))
        return x
    if kind == "murmur":  # far surf, rivers, towns: steady noise that falls steeply, over the recorder's own
        high_pass = signal.butter(2, rng.uniform(20, 60), "high", fs=rate, output="sos")  # as microphones do
        return (at_level(signal.sosfilt(high_pass, coloured(n, rng, rng.uniform(-9, -3))), 0)
                + at_level(coloured(n, rng, 0), -rng.uniform(15, 45)))
    if kind in ("generator", "boat"):
        f0 = rng.uniform(25, 50) if kind == "generator" else rng.uniform(20, 80)
        drift = 1 + 0.01 * np.cumsum(rng.standard_normal(SECONDS * 10)) / 10
        f = f0 * np.interp(t, np.arange(len(drift)) / 10, drift)
        phase = 2 * np.pi * np.cumsum(f) / rate
        x = sum(np.sin(h * phase + rng.uniform(0, 6)) * h ** -rng.uniform(0.6, 1.2) for h in range(1, 25))
        puff = coloured(n, rng, -4)
        x = x / x.std() + puff / puff.std() * (1 + 0.8 * np.sin(phase)) * 10 ** (-rng.uniform(0, 10) / 20)
        if kind == "boat":
            x = x * np.exp(-((t - rng.uniform(15, 45)) / rng.uniform(10, 40)) ** 2)
        back = coloured(n, rng, -2)
        return x / x.std() + back / back.std() * 10 ** (-rng.uniform(6, 20) / 20)
    if kind == "dripping":
        x = 0.05 * coloured(n, rng, -3)
        for _ in range(int(rng.uniform(2, 25) * SECONDS)):
            m = int(0.02 * rate)
            at = rng.integers(0, n - m)
            tt = np.arange(m) / rate
            x[at:at + m] += rng.exponential(1) * np.exp(-tt / rng.uniform(0.0005, 0.003)) * rng.standard_normal(m)
        return x
    if kind == "slow boat":
        return slow_boat(rate, rng)
    if kind == "low frogs":
        return low_frogs(rate, rng)
    if kind == "clicks":
        return clicks(rate, rng)
    raise ValueError(kind)


def slow_boat(rate, rng):
    """8 to 40 strokes a second of a slowly gliding engine, hard enough to leave gaps: bursts of low-passed noise, or an
    exhaust that rings at 50 to 200 Hz; passing or steady, over noise or rapids 0 to 25 dB below."""
    n = SECONDS * rate
    t = np.arange(n) / rate
    glide = 1 + rng.uniform(0.002, 0.03) * np.interp(t, np.linspace(0, SECONDS, 13), np.cumsum(rng.standard_normal(13)) / 3)
    strokes = np.flatnonzero(np.diff(np.floor(np.cumsum(np.exp(rng.uniform(np.log(8), np.log(40))) * glide) / rate))) + 1
    hits = np.zeros(n)
    hits[strokes] = rng.uniform(0.8, 1, len(strokes))
    fading = lambda seconds: signal.lfilter([1], [1, -np.exp(-1 / (seconds * rate))], hits) * rng.standard_normal(n)
    x = signal.lfilter(*signal.butter(1, rng.uniform(150, 800), fs=rate), fading(rng.uniform(0.006, 0.03)))
    if rng.random() < 0.5:
        ring = signal.lfilter(*signal.iirpeak(rng.uniform(50, 200), rng.uniform(0.7, 3), fs=rate), hits)
        x = at_level(ring, 0) + at_level(x, -rng.uniform(0, 15))
    if rng.random() < 0.6:
        x = x * np.exp(-((t - rng.uniform(10, 50)) / rng.uniform(12, 45)) ** 2)
    back = synthetic("rapids", rate, rng) if rng.random() < 0.5 else coloured(n, rng, rng.uniform(-6, 0))
    return at_level(x, 0) + at_level(back, -rng.uniform(0, 25))


def bouts(rng, period, jitter):
    """Times of pulses without end, or of some seconds with pauses between."""
    times, t = [], rng.uniform(0, 1)
    always, on, off = rng.random() < 0.5, rng.uniform(0.5, 6), rng.uniform(0.3, 4)
    while t < SECONDS:
        end = SECONDS if always else t + on * rng.uniform(0.7, 1.3)
        while t < min(end, SECONDS):
            times.append(t)
            t += period * (1 + jitter * rng.standard_normal())
        t += off * rng.uniform(0.7, 1.3)
    return times


def at_times(rate, times, make):
    x = np.zeros((SECONDS + 1) * rate)
    for t in times:
        one = make()
        at = int(t * rate)
        if 0 <= at < SECONDS * rate:
            x[at:at + len(one)] += one
    return x[:SECONDS * rate]


def low_frogs(rate, rng):
    """One to four frogs: carriers of 150 to 400 Hz with up to three overtones, 5 to 30 pulses a second, without end or in
    bouts, over noise 0 to 25 dB below."""
    x = np.zeros(SECONDS * rate)
    for _ in range(rng.integers(1, 5)):
        hz, period = rng.uniform(150, 400), 1 / np.exp(rng.uniform(np.log(5), np.log(30)))
        m = int(period * rng.uniform(0.25, 0.8) * rate)
        t = np.arange(m) / rate
        shape = np.hanning(m) if rng.random() < 0.5 else np.exp(-t / (m / rate / 4)) * np.minimum(1, t / 0.004)
        falls, many = rng.uniform(6, 20), rng.integers(1, 5)
        note = shape * sum(np.sin(2 * np.pi * h * hz * t) * 10 ** (-falls * (h - 1) / 20) for h in range(1, many + 1))
        x += at_times(rate, bouts(rng, period, rng.uniform(0, 0.05)),
                      lambda: note * rng.uniform(0.8, 1)) * 10 ** (-rng.uniform(0, 10) / 20)
    return at_level(x, 0) + at_level(coloured(len(x), rng, rng.uniform(-6, 0)), -rng.uniform(0, 25))


def clicks(rate, rng):
    """One to three insects that tick or crackle: 1 to 40 clicks a second each, at random or in rhythm, over noise."""
    x = np.zeros(SECONDS * rate)
    regular = rng.random() < 0.5
    for _ in range(rng.integers(1, 4)):
        period = 1 / np.exp(rng.uniform(np.log(1), np.log(40)))
        hz, d = rng.uniform(1500, min(9000, 0.4 * rate)), np.exp(rng.uniform(np.log(0.0004), np.log(0.004)))
        m = int(6 * d * rate) + 2
        t = np.arange(m) / rate
        noisy, spread = rng.random() < 0.5, rng.uniform(0, 1)

        def one():
            c = rng.standard_normal(m) if noisy else np.sin(2 * np.pi * hz * t + rng.uniform(0, 6))
            return c * np.exp(-t / d) * np.exp(spread * rng.standard_normal())

        times = bouts(rng, period, rng.uniform(0, 0.1)) if regular else rng.uniform(0, SECONDS, rng.poisson(SECONDS / period))
        x += at_times(rate, times, one)
    return at_level(x, 0) + at_level(coloured(len(x), rng, rng.uniform(-5, 0)), -rng.uniform(0, 25))


SYNTHETIC = ["wind", "rapids", "cicadas", "crickets", "quiet", "murmur", "generator", "boat", "slow boat", "dripping", "low frogs",
             "clicks"]


def finished(x, dbfs):
    """At the level, lowered where more than a few samples would be cut off, in 16 bits."""
    for _ in range(40):
        y = at_level(x, dbfs)
        if np.mean(np.abs(y) >= 1) <= 2e-4:
            break
        dbfs -= 1
    return np.clip(np.round(y * 32768), -32768, 32767).astype(np.int16), dbfs


def sets_of(sounds, label):
    """(fold, number, clips): each clip by itself, and twos and fours of a fold."""
    for fold, clips in sorted(sounds.folds(label).items()):
        rng = rng_for(f"{label} {fold}")
        sets = [[c] for c in clips]
        for size in (2, 4):
            if len(clips) >= size:
                for _ in range(max(1, len(clips) // 2)):
                    sets.append([clips[i] for i in rng.permutation(len(clips))[:size]])
        for number, chosen in enumerate(sets):
            yield fold, number, chosen


def real_textures(sounds, label, rates, draws=1, every=1):
    """(name, fold, variant, rate, level, samples): each set alone, with birds and in noise, `draws` times at other rates and
    levels; of all these every so many-th."""
    count = 0
    for fold, number, chosen in sets_of(sounds, label):
        for draw, variant in itertools.product(range(draws), ("alone", "birds", "noise")):
            count += 1
            if count % every == 0:
                name = f"{label} {fold} {number} {variant} {draw}"
                yield from one_real(sounds, name, label, fold, chosen, variant, rates)


def one_real(sounds, name, label, fold, chosen, variant, rates):
    rng = rng_for(name)
    rate = rates[rng.integers(len(rates))]
    trim = label != "rooster" and rng.random() < 0.8
    x = joined([sounds.get(c, rate, trim) for c in chosen], rate)
    x = at_level(x, 0)
    if variant == "birds":
        x = x + at_level(sounds.birds(rate, rng, fold), rng.uniform(-15, 0))
    if variant == "noise":
        x = x + at_level(coloured(len(x), rng, rng.uniform(-4, 0)), rng.uniform(-15, -3))
    y, level = finished(x, LEVELS[rng.integers(len(LEVELS))] + rng.uniform(-2, 2))
    yield name, fold, variant, rate, level, y


def synthetic_textures(sounds, kind, rates, count):
    for number in range(count):
        name = f"{kind} {number}"
        rng = rng_for(name)
        rate = rates[rng.integers(len(rates))]
        x = at_level(synthetic(kind, rate, rng), 0)
        if number % 3 == 2:
            x = x + at_level(sounds.birds(rate, rng, "1a"), rng.uniform(-15, 0))
        level = rng.uniform(-45, -14) if kind != "quiet" else rng.uniform(-72, -56)
        y, level = finished(x, level)
        yield name, "123"[number % 3] + "ab"[number // 3 % 2], "alone", rate, level, y


def animal_textures(sounds, rates, count):
    """Birds, insects and frogs over quiet noise; the real dawn by itself."""
    for number in range(count):
        name = f"animals {number}"
        rng = rng_for(name)
        rate = rates[rng.integers(len(rates))]
        fold = "123"[number % 3] + "ab"[number // 3 % 2]
        x = at_level(sounds.birds(rate, rng, fold), 0)
        x = x + at_level(coloured(len(x), rng, rng.uniform(-5, 0)), -rng.uniform(3, 30))
        y, level = finished(x, rng.uniform(-45, -20))
        yield name, fold, "alone", rate, level, y
