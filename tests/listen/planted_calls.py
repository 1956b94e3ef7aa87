"""Real calls planted into quiet noise at 0 to 32 a minute: which indices follow the number of calls?

    planted_calls.py HEARWOOD CALLS      CALLS: a folder of sounds of single calls

The table in docs/listening.md is its output with the bird, insect and frog calls of Debian's tuxpaint-stamps-default
(planted_calls.sh fetches them). Six minutes of noise at -55 dBFS, falling by 3 dB an octave, at 24 kHz.
"""
import pathlib
import subprocess
import sys
import tempfile
import wave

import numpy as np

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
        (folder / "survey.toml").write_text(
            '[survey]\ntitle = "Quiet"\ntime_zone = "Asia/Kuching"\n[stands]\nfactor = "nutrient_status"\n'
            'compare = ["rich", "poor"]\n')
        sites, deployments = ["site,latitude,longitude,nutrient_status"], ["deployment,site,folder"]
        for s in range(6):
            stand = "poor" if s % 2 else "rich"
            sites.append(f"quiet-{s},1.{s},110.{s},{stand}")
            deployments.append(f"d{s},quiet-{s},recordings/d{s}")
            (folder / f"recordings/d{s}").mkdir(parents=True)
            with wave.open(str(folder / f"recordings/d{s}/d{s}_20310504_100000.wav"), "wb") as out:
                out.setparams((1, 2, RATE, 0, "NONE", ""))
                out.writeframes(quiet_minute(s).tobytes())
        (folder / "sites.csv").write_text("\n".join(sites) + "\n")
        (folder / "deployments.csv").write_text("\n".join(deployments) + "\n")
        subprocess.run([hearwood, "measure", folder, "--quiet"], check=True, stdout=subprocess.DEVNULL)
        subprocess.run([hearwood, "listen", folder, "--plant", "6", "--calls", calls, "--quiet"])


main()
