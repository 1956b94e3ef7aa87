"""commands_test.py HEARWOOD PAGE_FIXTURES READ_PNG_FOLDER: the commands picture and spectra through the program.

NetCDF is read by Debian's netCDF4; PNG by tests/picture/read_png.py.
"""
import math
import os
import subprocess
import sys
import tempfile
import wave

import netCDF4
import numpy

hearwood, fixtures, picture_tests = sys.argv[1:4]
sys.path.insert(0, picture_tests)
import read_png  # noqa: E402

passed = failed = 0


def check(name, good, seen=""):
    global passed, failed
    if good:
        passed += 1
    else:
        failed += 1
        print(f"FAILED {name}: {seen}")


def run(*options):
    return subprocess.run([hearwood, *options], capture_output=True, text=True)


def tone(path, hz, seconds, rate):
    with wave.open(path, "wb") as out:
        out.setparams((1, 2, rate, 0, "NONE", ""))
        n = numpy.arange(int(seconds * rate))
        out.writeframes((16000 * numpy.sin(2 * math.pi * hz * n / rate)).astype("<i2").tobytes())


def test_picture_of_file(folder):
    sound, png = os.path.join(folder, "tone.wav"), os.path.join(folder, "tone.png")
    tone(sound, 3000, 4, 24000)
    done = run("picture", sound, "--from", "1", "--to", "0:03", "--width", "500", "--height", "300", "--out", png)
    check("picture exit", done.returncode == 0, done.stderr)
    check("picture says its range", "1.000 to 3.000 s, 0 to 12000 Hz" in " ".join(done.stdout.split()), done.stdout)
    rows = read_png.read(png)
    check("picture size", (len(rows), len(rows[0])) == (300, 500), (len(rows), len(rows[0])))
    # In the middle column the brightest row inside the plot (below the title and above the axis) is the tone's.
    column = [rows[y][250] for y in range(300)]
    paper = column[0]
    top = next(y for y in range(300) if column[y] != paper)
    bottom = next(y for y in range(top + 50, 300) if column[y] == paper) - 1
    bright = max(range(top + 3, bottom - 3), key=lambda y: sum(column[y]))
    share = (bottom - bright) / (bottom - top)
    check("tone at a quarter of the height", abs(share - 0.25) < 0.01, share)

    for bad, word in ((("--from", "9"), "is empty"), (("--channel", "1"), "counted from 0"), (("--from", "x"), "m:ss"),
                      (("--band", "a=9-1"), "LOW-HIGH"), (("--width", "0.5"), "--width"), (("--frame", "3"), "even number")):
        done = run("picture", sound, "--out", png, *bad)
        check(f"picture refuses {bad}", done.returncode == 2 and word in done.stderr + done.stdout, done.stderr)
    before = open(sound, "rb").read()
    done = run("picture", sound, "--out", os.path.join(folder, ".", "tone.wav"))
    check("picture never writes over the recording", done.returncode == 2 and open(sound, "rb").read() == before, done.stdout)
    sheet = os.path.join(folder, "values.csv")
    with open(sheet, "w", encoding="utf-8") as out:
        out.write("site,class,index,window,value\nA,r,i,d,1\nB,r,i,d,2\nC,p,i,d,3\nD,p,i,d,4\n")
    before = open(sheet, "rb").read()
    done = run("contrast", "--values", sheet, "--out", sheet)
    check("contrast never writes over its sheet", done.returncode == 2 and open(sheet, "rb").read() == before, done.stdout)
    done = run("picture", os.path.join(folder, "none.wav"))
    check("picture of nothing", done.returncode == 2 and "none.wav" in done.stderr, done.stderr)


def test_day(survey, folder):
    png = os.path.join(folder, "day.png")
    done = run("picture", survey, "--site", "L08", "--date", "2031-05-04", "--out", png)
    check("day exit", done.returncode == 0, done.stderr)
    rows = read_png.read(png)
    check("day size", (len(rows), len(rows[0])) == (360, 1200))
    done = run("picture", survey, "--site", "L8", "--date", "2031-05-04")
    check("day names the nearest site", done.returncode == 2 and "did you mean 'L" in done.stderr, done.stderr)
    done = run("picture", survey, "--site", "L08", "--date", "2031-05-20")
    check("day without recordings", done.returncode == 2 and "nothing is measured" in done.stderr, done.stderr)
    done = run("picture", survey, "--site", "L08")
    check("day without a date", done.returncode == 2 and "--date" in done.stderr, done.stderr)


def test_picture_with_survey(folder):
    """Marks of the recording's own segments, by whatever path it is named; none on a file of no deployment."""
    survey = os.path.join(folder, "small")
    for deployment in ("D1", "D2"):
        os.makedirs(os.path.join(survey, "recordings", deployment))
    sound = os.path.join(survey, "recordings", "D1", "A_20310504_060000.wav")
    tone(sound, 3000, 4, 24000)
    tone(os.path.join(survey, "recordings", "D2", "A_20310504_060000.wav"), 3000, 4, 24000)
    stranger = os.path.join(survey, "recordings", "A_20310504_060000.wav")
    tone(stranger, 3000, 4, 24000)
    for name, text in (("survey.toml", '[survey]\ntime_zone = "Asia/Kuching"\n[stands]\nfactor = "soil"\n'
                        'compare = ["rich", "poor"]\n[measure]\nsegment_s = 2\nstep_s = 1\n'),
                       ("sites.csv", "site,latitude,longitude,soil\nS1,1.5,110.3,rich\nS2,1.6,110.3,poor\n"),
                       ("deployments.csv", "deployment,site,folder\nD1,S1,recordings/D1\nD2,S2,recordings/D2\n")):
        with open(os.path.join(survey, name), "w", encoding="utf-8") as out:
            out.write(text)
    measured = run("measure", survey, "--quiet")
    check("small survey measured", measured.returncode == 0, measured.stderr)

    def png(path, *more):
        out = os.path.join(folder, "marks.png")
        done = run("picture", path, "--out", out, *more)
        check(f"picture {path} {more}", done.returncode == 0, done.stderr)
        return open(out, "rb").read()

    plain, marked = png(sound), png(sound, "--survey", survey)
    check("segments are marked", plain != marked)
    link = os.path.join(folder, "A_20310504_060000.wav")
    os.symlink(sound, link)
    check("marked through a link", png(link, "--survey", survey) == marked)
    check("a stranger has no marks", png(stranger, "--survey", survey) == plain)


def test_spectra(survey, folder):
    out, again = os.path.join(folder, "a.nc"), os.path.join(folder, "b.nc")
    done = run("spectra", survey, "--out", out, "--quiet")
    check("spectra exit", done.returncode == 0, done.stderr)
    run("spectra", survey, "--out", again, "--quiet")
    check("spectra same bytes", open(out, "rb").read() == open(again, "rb").read())
    data = netCDF4.Dataset(out)
    check("conventions", data.Conventions.startswith("CF-1.") and data.featureType == "timeSeries")
    check("shape", data["power_spectral_density"].shape == (5742, 257), data["power_spectral_density"].shape)
    check("frequencies", numpy.allclose(data["frequency"][:], numpy.arange(257) * 46.875))
    check("units", (data["time"].units, data["frequency"].units, data["latitude"].units, data["power_spectral_density"].units)
          == ("seconds since 1970-01-01T00:00:00Z", "Hz", "degrees_north", "dB"))
    names = list(data["site_name"][:])
    check("names", "<script>alert('L1')</script>" in names and "frog \U0001F438 creek" in names, names[:4])
    sites = data["site_index"][:]
    check("every site has rows", sorted(set(sites)) == list(range(40)))
    # The first segment of a site: midnight of 4 May 2031 in a zone 8 h ahead of UTC.
    first = min(data["time"][:][sites == 7])
    check("time", netCDF4.num2date(first, data["time"].units).isoformat() == "2031-05-03T16:00:00", first)
    # The fixture's spectra: about -90 dB of noise; at 06:00 a chorus 20 dB higher at 3500 Hz; by night insects.
    power, hours = data["power_spectral_density"][:], ((data["time"][:] + 8 * 3600) // 3600) % 24
    chorus = power[hours == 6][:, 75].mean() - power[hours == 12][:, 75].mean()
    check("chorus", abs(chorus - 20) < 1, chorus)
    standout = data["standout"][:]
    check("no background at the ends", standout.mask[:, 0].all() and standout.mask[:, 256].all() and not standout.mask[:, 5].any())
    insects = standout[hours == 22][:, 139].mean()
    check("insects stand out", 0.38 < insects < 0.46, insects)
    check("provenance", len(data.settings_sha256) == 64 and '"frame":512' in data.settings)


with tempfile.TemporaryDirectory() as root:
    survey_folder = os.path.join(root, "survey")
    subprocess.run([fixtures, "forty", survey_folder], check=True)
    test_picture_of_file(root)
    test_day(survey_folder, root)
    test_picture_with_survey(root)
    test_spectra(survey_folder, root)
print(f"{passed} passed, {failed} failed")
sys.exit(1 if failed else 0)
