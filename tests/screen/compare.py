"""Every quantity of the screens against reference.py, numpy from the definitions, on noise, gates, tones and
chirps at several sample rates. Usage: compare.py PROGRAM (screen_quantities)."""
import sys

import numpy as np

import measured
import reference

RATES = [16000, 24000, 44100, 48000, 96000]
# 16-bit samples and single-precision transforms against float64: ranks of nearly equal ticks may swap, which
# moves the rank-based ones in the third or fourth digit; decibels and ratios agree far better.
TOLERANCE = {"patter": 2e-3, "memory": 2e-3, "drops": 4e-3, "tail": 2e-3}
USUAL = 5e-4


def sounds(rate):
    rng = np.random.default_rng(rate)
    n = 20 * rate
    t = np.arange(n) / rate
    noise = rng.standard_normal(n) * 0.05
    yield "white noise", noise
    yield "gated at random", noise * np.where(rng.random(n // 512 + 1).repeat(512)[:n] < 0.5, 1, 0.0316)
    yield "a low tone in pulses", noise * 0.02 + 0.1 * np.sin(2 * np.pi * 233 * t) * (t * 12 % 1 < 0.4)
    yield "gated at 10 Hz", noise * np.where(t * 10 % 1 < 0.5, 1, 0.0316)
    yield "tones", noise * 0.02 + 0.1 * sum(np.sin(2 * np.pi * f * t) for f in (210, 300, 390, 1250))
    yield "chirps", noise * 0.1 + 0.2 * np.sin(2 * np.pi * (2000 + 1500 * (t % 0.7)) * (t % 0.7)) * (t % 2 < 0.7)
    yield "rumbling", noise * 0.1 + np.cumsum(noise) * np.exp(-t) * 0.01 + 0.1 * np.sin(2 * np.pi * 97 * t)
    silent = noise.copy()
    silent[5 * rate:9 * rate] = 0
    yield "silent for four seconds", silent


def main():
    meter = measured.Meter(sys.argv[1])
    checked, wrong = 0, []
    for rate in RATES:
        for name, x in sounds(rate):
            samples = np.clip(np.round(x * 32768), -32768, 32767)
            got, _ = meter(samples, rate)
            want = reference.quantities(reference.summary(samples / 32768, rate))
            for column, value in want.items():
                checked += 1
                if np.isnan(value) and np.isnan(got[column]):
                    continue  # bins too wide for a hump
                if not abs(got[column] - value) <= TOLERANCE.get(column, USUAL) * max(1, abs(value)):
                    wrong.append(f"{name} at {rate} Hz: {column} is {got[column]}, reference {value}")
            # The scores as sums of the program's own quantities: nothing of their tolerance is left in them.
            for column, value in reference.scores(got).items():
                checked += 1
                if not abs(got[column] - value) <= 1e-9 * max(1, abs(value)):
                    wrong.append(f"{name} at {rate} Hz: {column} is {got[column]}, by its formula {value}")
    meter.close()
    print(*wrong, f"{checked} values compared, {len(wrong)} wrong", sep="\n")
    return 1 if wrong or checked == 0 else 0


sys.exit(main())
