"""Real calls planted into quiet noise at 0 to 32 a minute: which indices follow the number of calls?

    planted_calls.py HEARWOOD CALLS      CALLS: a folder of sounds of single calls

The table in docs/listening.md is its output with the bird, insect and frog calls of Debian's tuxpaint-stamps-default
(planted_calls.sh fetches them). Six minutes of noise at -55 dBFS, falling by 3 dB an octave, at 24 kHz.
"""
import pathlib
import subprocess
import sys
import tempfile

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402

RATE = 24000


def quiet_minute(seed):
    rng = np.random.default_rng(seed)
    spectrum = np.fft.rfft(rng.standard_normal(60 * RATE))
    f = np.fft.rfftfreq(60 * RATE)
    f[0] = f[1]
    x = np.fft.irfft(spectrum * f ** -0.5, 60 * RATE)
    x *= 10 ** (-55 / 20) / np.sqrt(2 * np.mean(x * x))
    return np.round(x * 32768).astype("<i2")


def main():
    hearwood, calls = sys.argv[1:3]
    with tempfile.TemporaryDirectory(prefix="hearwood-planted-") as name:
        folder = pathlib.Path(name)
        support.write_survey(folder, [{"site": f"quiet-{s}", "nutrient_status": "poor" if s % 2 else "rich"} for s in range(6)])
        for s in range(6):
            support.write_wave(folder / f"recordings/Dquiet-{s}/d{s}_20310504_100000.wav", quiet_minute(s), RATE)
        subprocess.run([hearwood, "measure", folder, "--quiet"], check=True, stdout=subprocess.DEVNULL)
        subprocess.run([hearwood, "listen", folder, "--plant", "6", "--calls", calls, "--quiet"])


main()
