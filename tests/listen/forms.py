"""Clips of surveys with several channels and of every sample rate, through the real program: a clip must play the
channel that its value came from, and nothing of its form may tell the site.

    forms.py HEARWOOD NODE WEB      WEB: the folder with playwright-core in node_modules

Sounds are read back by libsndfile (Debian's libsndfile1) itself, pictures by tests/picture/read_png.py.
"""
import json
import pathlib
import re
import subprocess
import sys
import tempfile

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from support import check, going_on  # noqa: E402
import read_png  # noqa: E402

HEARWOOD, NODE, WEB = sys.argv[1:4]
HERE = pathlib.Path(__file__).resolve().parent
SECONDS = 40
run = support.Program(HEARWOOD)


def sound_of(path):
    """Samples and rate of a mono file."""
    samples, rate = support.read_sound(path)
    check(samples.shape[1] == 1, f"{path}: {samples.shape[1]} channels")
    return samples[:, 0], rate


def loudest_hz(samples, rate):
    power = np.abs(np.fft.rfft(samples * np.hanning(len(samples)))) ** 2
    return np.argmax(power) * rate / len(samples)


def make_survey(folder, sites, day="20310504"):
    """sites: (name, rate, tones), a tone a channel in steady noise. Two recordings a site."""
    support.write_survey(
        folder, [{"site": name, "nutrient_status": "poor" if s % 2 else "rich"} for s, (name, *_) in enumerate(sites)],
        [{"deployment": f"d{s}", "site": name} for s, (name, *_) in enumerate(sites)],
        rest='[measure]\nsegment_s = 10\n[contrast]\nprimary = { index = "aci", window = "day" }')
    for s, (name, rate, tones) in enumerate(sites):
        for hour in (9, 10):
            rng = np.random.default_rng(10 * s + hour)
            t = np.arange(SECONDS * rate) / rate
            x = np.stack([0.02 * np.sin(2 * np.pi * hz * t) + 0.002 * rng.standard_normal(len(t)) for hz in tones], axis=1)
            support.write_wave(folder / f"recordings/d{s}/d{s}_{day}_{hour:02d}0000.wav", x, rate)
    run("measure", folder, "--quiet")
    return {name: tones for name, _, tones in sites}


def draw(folder):
    done = run("listen", folder, "--clips", 24, "--repeats", 2, "--seconds", 4, "--quiet")
    return support.table(folder / "hearwood/listening_key.csv"), done


def check_sheet(folder, tones, rate, pictures=False):
    key, done = draw(folder)
    clips = folder / "hearwood/listen/clips"
    check(len(key) == 26, f"{folder.name}: {len(key)} clips")
    check(len({p.stat().st_size for p in clips.iterdir()}) == 1, f"{folder.name}: clips differ in size")
    channels = set()
    for line in key:
        samples, its_rate = sound_of(clips / f"{line['clip']}.wav")
        check(its_rate == rate, f"{folder.name}: a clip of {line['site']} has {its_rate} Hz, not {rate}")
        wanted = tones[line["site"]][int(line["channel"])]
        check(abs(loudest_hz(samples, its_rate) - wanted) < 2,
              f"{folder.name}: {line['site']} channel {line['channel']} sounds at {loudest_hz(samples, its_rate):.0f}, not {wanted} Hz")
        channels.add((line["site"], line["channel"]))
    check(len(channels) == sum(map(len, tones.values())), f"{folder.name}: drawn were only {sorted(channels)}")
    if pictures:
        check_pictures(folder, key)
    return key, done


def check_pictures(folder, key):
    """Axes are the same, pixel for pixel, whatever the site."""
    axes = set()
    for line in key:
        rows = read_png.read(str(folder / f"hearwood/listen/pictures/{line['clip']}.png"))
        axes.add(repr([row[:40] for row in rows]))
    check(len(axes) == 1, f"{folder.name}: pictures have {len(axes)} different axes")


def check_report(folder, tones, rate):
    """The clips of the page: (channel, site) from the page's own table of clips."""
    run("report", folder, "--quiet", "--no-pictures")
    page = (folder / "hearwood/report/index.html").read_text()
    data = json.loads(re.search(r'id="page-data"[^>]*>(.*?)</script>', page, re.S).group(1))
    table = data["tables"]["clips"]
    rows = [dict(zip(table["columns"], row)) for row in table["rows"]]
    # Those of pairs stand in no table of their own.
    files = [file for file in re.findall(r'<audio[^>]* src="([^"]+)"', page) if "/pairs/" not in file]
    check(len(rows) == len(files) > 0, f"{folder.name}: {len(rows)} rows, {len(files)} sounds")
    for row, file in zip(rows, files):
        samples, its_rate = sound_of(folder / "hearwood/report" / file)
        check(its_rate == rate, f"{folder.name}: {file} has {its_rate} Hz, not {rate}")
        wanted = tones[row["site"]][row["channel"]]
        check(abs(loudest_hz(samples, its_rate) - wanted) < 2, f"{folder.name}: {file} is not channel {row['channel']}")
    return [str(folder / "hearwood/report" / file) for file in files]


def plays(files):
    done = subprocess.run([NODE, str(HERE / "plays.mjs"), WEB, *files], capture_output=True, text=True, timeout=120)
    check(done.returncode == 0, f"browser: {done.stdout}{done.stderr}")


def main():
    with tempfile.TemporaryDirectory(prefix="hearwood-forms-") as root:
        work = pathlib.Path(root)
        some = []
        for rate, heard in ((2000, 8000), (8000, 8000), (16000, 16000), (96000, 48000), (192000, 48000)):
            with going_on(f"{rate} Hz"):
                folder = work / f"rate-{rate}"
                tones = make_survey(folder, [(f"s{i}", rate, (310 + 40 * i, 620 + 40 * i)) for i in range(2)])
                key, done = check_sheet(folder, tones, heard)
                check("different sample rates" not in done.stderr, f"rate {rate}: {done.stderr}")
                some += [str(folder / f"hearwood/listen/clips/{key[0]['clip']}.wav"), *check_report(folder, tones, heard)[:1]]
        with going_on("mixed rates"):
            mixed = work / "mixed"
            tones = make_survey(mixed, [("low", 16000, (700, 1500)), ("middle", 44100, (900, 2100, 3300)),
                                        ("high", 96000, (1100,)), ("even", 48000, (1300, 2700))])
            key, done = check_sheet(mixed, tones, 16000, pictures=True)
            check("all clips were brought to 16000 Hz" in " ".join(done.stderr.split()), f"mixed rates: {done.stderr}")
            # The same layout on another day: if names followed from the seed alone, the first key would give this one away.
            other = work / "other"
            make_survey(other, [("low", 16000, (700, 1500)), ("middle", 44100, (900, 2100, 3300)),
                                ("high", 96000, (1100,)), ("even", 48000, (1300, 2700))], "20310611")
            shared = {line["clip"] for line in key} & {line["clip"] for line in draw(other)[0]}
            check(len(shared) < 5, f"two surveys share the names {sorted(shared)}")
        plays(some)
    return support.finish()


sys.exit(main())
