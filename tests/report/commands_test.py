"""commands_test.py HEARWOOD PAGE_FIXTURES: the commands picture and spectra through the program.

NetCDF is read by Debian's netCDF4; PNG by tests/picture/read_png.py.
"""
import math
import os
import pathlib
import pty
import re
import subprocess
import sys
import tempfile

import netCDF4
import numpy

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from support import check, going_on  # noqa: E402
import read_png  # noqa: E402

hearwood, fixtures = sys.argv[1:3]


def run(*options):
    return support.Program(hearwood)(*options, code=None)


def tone(path, hz, seconds, rate):
    support.write_wave(path, 0.49 * numpy.sin(2 * math.pi * hz * numpy.arange(int(seconds * rate)) / rate), rate)


def on_terminal(*options, **environment):
    """What a terminal of 80 columns is given; stderr is no terminal."""
    master, slave = pty.openpty()
    done = subprocess.Popen([hearwood, *options], stdout=slave, stderr=subprocess.DEVNULL, env={**os.environ, "TERM": "xterm", **environment})
    os.close(slave)
    told = b""
    while True:
        try:
            piece = os.read(master, 65536)
        except OSError:  # how Linux says that the other end is closed
            break
        if not piece:
            break
        told += piece
    os.close(master)
    done.wait()
    return told.decode().replace("\r\n", "\n")


def test_terminal(folder):
    """Classes in colours on a terminal; the same words and nothing else under NO_COLOR, on a dumb terminal and in a pipe."""
    survey = os.path.join(folder, "few")
    subprocess.run([fixtures, "few", survey], check=True, stdout=subprocess.DEVNULL)
    run("tabulate", survey, "--quiet")
    plain = run("contrast", survey, "--quiet").stdout
    check("\033" not in plain and "rich" in plain, "no colours in a pipe", plain[-300:])
    environment = {key: value for key, value in os.environ.items() if key != "NO_COLOR"}
    os.environ.clear()
    os.environ.update(environment)
    coloured = on_terminal("contrast", survey, "--quiet")
    for word, colour in (("rich", 36), ("poor", 33)):
        check(f"\033[{colour}m{word}\033[0m" in coloured, f"{word} has its colour", coloured[-300:])
    check(re.sub("\033\\[[0-9]*m", "", coloured) == plain, "a terminal has the same words", coloured[-300:])
    for without in ({"NO_COLOR": "1"}, {"TERM": "dumb"}):
        check(on_terminal("contrast", survey, "--quiet", **without) == plain, f"no colours under {without}")
    stages = on_terminal("run", survey, "--quiet")
    check("\033[1m== check ==\033[0m" in stages, "stages of a run are bold", stages[:300])


def test_picture_of_file(folder):
    sound, png = os.path.join(folder, "tone.wav"), os.path.join(folder, "tone.png")
    tone(sound, 3000, 4, 24000)
    done = run("picture", sound, "--from", "1", "--to", "0:03", "--width", "500", "--height", "300", "--out", png)
    check(done.returncode == 0, "picture exit", done.stderr)
    check("1.000 to 3.000 s, 0 to 12000 Hz" in " ".join(done.stdout.split()), "picture says its range", done.stdout)
    rows = read_png.read(png)
    check((len(rows), len(rows[0])) == (300, 500), "picture size", (len(rows), len(rows[0])))
    # In the middle column the brightest row inside the plot (below the title and above the axis) is the tone's.
    column = [rows[y][250] for y in range(300)]
    paper = column[0]
    top = next(y for y in range(300) if column[y] != paper)
    bottom = next(y for y in range(top + 50, 300) if column[y] == paper) - 1
    bright = max(range(top + 3, bottom - 3), key=lambda y: sum(column[y]))
    share = (bottom - bright) / (bottom - top)
    check(abs(share - 0.25) < 0.01, "tone at a quarter of the height", share)

    for bad, word in ((("--from", "9"), "is empty"), (("--channel", "1"), "counted from 0"), (("--from", "x"), "m:ss"),
                      (("--band", "a=9-1"), "LOW-HIGH"), (("--width", "0.5"), "--width"), (("--frame", "3"), "even number")):
        done = run("picture", sound, "--out", png, *bad)
        check(done.returncode == 2 and word in done.stderr + done.stdout, f"picture refuses {bad}", done.stderr)
    before = open(sound, "rb").read()
    done = run("picture", sound, "--out", os.path.join(folder, ".", "tone.wav"))
    check(done.returncode == 2 and open(sound, "rb").read() == before, "picture never writes over the recording", done.stdout)
    sheet = os.path.join(folder, "values.csv")
    with open(sheet, "w", encoding="utf-8") as out:
        out.write("site,class,index,window,value\nA,r,i,d,1\nB,r,i,d,2\nC,p,i,d,3\nD,p,i,d,4\n")
    before = open(sheet, "rb").read()
    done = run("contrast", "--values", sheet, "--out", sheet)
    check(done.returncode == 2 and open(sheet, "rb").read() == before, "contrast never writes over its sheet", done.stdout)
    done = run("picture", os.path.join(folder, "none.wav"))
    check(done.returncode == 2 and "none.wav" in done.stderr, "picture of nothing", done.stderr)


def test_day(survey, folder):
    png = os.path.join(folder, "day.png")
    done = run("picture", survey, "--site", "L08", "--date", "2031-05-04", "--out", png)
    check(done.returncode == 0, "day exit", done.stderr)
    rows = read_png.read(png)
    check((len(rows), len(rows[0])) == (360, 1200), "day size")
    done = run("picture", survey, "--site", "L8", "--date", "2031-05-04")
    check(done.returncode == 2 and "did you mean 'L" in done.stderr, "day names the nearest site", done.stderr)
    done = run("picture", survey, "--site", "L08", "--date", "2031-05-20")
    check(done.returncode == 2 and "nothing is measured" in done.stderr, "day without recordings", done.stderr)
    done = run("picture", survey, "--site", "L08")
    check(done.returncode == 2 and "--date" in done.stderr, "day without a date", done.stderr)


def test_picture_with_survey(folder):
    """Marks of the recording's own segments, by whatever path it is named; none on a file of no deployment."""
    survey = os.path.join(folder, "small")
    sound = os.path.join(survey, "recordings", "D1", "A_20310504_060000.wav")
    tone(sound, 3000, 4, 24000)
    tone(os.path.join(survey, "recordings", "D2", "A_20310504_060000.wav"), 3000, 4, 24000)
    stranger = os.path.join(survey, "recordings", "A_20310504_060000.wav")
    tone(stranger, 3000, 4, 24000)
    support.write_survey(survey, [{"site": "S1", "nutrient_status": "rich"}, {"site": "S2", "nutrient_status": "poor"}],
                         [{"deployment": "D1", "site": "S1"}, {"deployment": "D2", "site": "S2"}],
                         rest="[measure]\nsegment_s = 2\nstep_s = 1")
    measured = run("measure", survey, "--quiet")
    check(measured.returncode == 0, "small survey measured", measured.stderr)

    def png(path, *more):
        out = os.path.join(folder, "marks.png")
        done = run("picture", path, "--out", out, *more)
        check(done.returncode == 0, f"picture {path} {more}", done.stderr)
        return open(out, "rb").read()

    plain, marked = png(sound), png(sound, "--survey", survey)
    check(plain != marked, "segments are marked")
    link = os.path.join(folder, "A_20310504_060000.wav")
    os.symlink(sound, link)
    check(png(link, "--survey", survey) == marked, "marked through a link")
    check(png(stranger, "--survey", survey) == plain, "a stranger has no marks")


def test_spectra(survey, folder):
    out, again = os.path.join(folder, "a.nc"), os.path.join(folder, "b.nc")
    done = run("spectra", survey, "--out", out, "--quiet")
    check(done.returncode == 0, "spectra exit", done.stderr)
    run("spectra", survey, "--out", again, "--quiet")
    check(open(out, "rb").read() == open(again, "rb").read(), "spectra same bytes")
    data = netCDF4.Dataset(out)
    check(data.Conventions.startswith("CF-1.") and data.featureType == "timeSeries", "conventions")
    check(data["power_spectral_density"].shape == (5742, 257), "shape", data["power_spectral_density"].shape)
    check(numpy.allclose(data["frequency"][:], numpy.arange(257) * 46.875), "frequencies")
    check((data["time"].units, data["frequency"].units, data["latitude"].units, data["power_spectral_density"].units)
          == ("seconds since 1970-01-01T00:00:00Z", "Hz", "degrees_north", "dB"), "units")
    names = list(data["site_name"][:])
    check("<script>alert('L1')</script>" in names and "frog \U0001F438 creek" in names, "names", names[:4])
    sites = data["site_index"][:]
    check(sorted(set(sites)) == list(range(40)), "every site has rows")
    # The first segment of a site: midnight of 4 May 2031 in a zone 8 h ahead of UTC.
    first = min(data["time"][:][sites == 7])
    check(netCDF4.num2date(first, data["time"].units).isoformat() == "2031-05-03T16:00:00", "time", first)
    # The fixture's spectra: about -90 dB of noise; at 06:00 a chorus 20 dB higher at 3500 Hz; by night insects.
    power, hours = data["power_spectral_density"][:], ((data["time"][:] + 8 * 3600) // 3600) % 24
    chorus = power[hours == 6][:, 75].mean() - power[hours == 12][:, 75].mean()
    check(abs(chorus - 20) < 1, "chorus", chorus)
    standout = data["standout"][:]
    check(standout.mask[:, 0].all() and standout.mask[:, 256].all() and not standout.mask[:, 5].any(),
          "no background at the ends")
    insects = standout[hours == 22][:, 139].mean()
    check(0.38 < insects < 0.46, "insects stand out", insects)
    check(len(data.settings_sha256) == 64 and '"frame":512' in data.settings, "provenance")


with tempfile.TemporaryDirectory() as root:
    survey_folder = os.path.join(root, "survey")
    subprocess.run([fixtures, "forty", survey_folder], check=True)
    for test, arguments in ((test_terminal, [root]), (test_picture_of_file, [root]), (test_day, [survey_folder, root]), (test_picture_with_survey, [root]),
                            (test_spectra, [survey_folder, root])):
        with going_on(test.__name__):
            test(*arguments)
sys.exit(support.finish())
