#!/usr/bin/python3
"""A language file with a missing or an unknown key, another {name} than the English one or a broken line stops the build and is
named, with the key.      files_check.py SOURCE CMAKE"""
import pathlib
import shutil
import subprocess
import sys
import tempfile
import tomllib

SOURCE, CMAKE = pathlib.Path(sys.argv[1]), sys.argv[2]
FOLDER = SOURCE / "src" / "words"
failures = []


def expect(holds, what):
    if not holds:
        failures.append(what)


def embed(folder, out):
    return subprocess.run([CMAKE, f"-DFOLDER={folder}", f"-DOUT={out}", "-P", FOLDER / "embed.cmake"], capture_output=True, text=True)


def refused(language, change, *words):
    with tempfile.TemporaryDirectory() as temporary:
        folder = pathlib.Path(temporary, "words")
        shutil.copytree(FOLDER, folder)
        path = folder / f"{language}.toml"
        before = path.read_text()
        path.write_text(change(before))
        expect(path.read_text() != before, f"{language}: the test's own change did nothing")
        done = embed(folder, pathlib.Path(temporary, "out.inc"))
        said = " ".join(done.stderr.split())
        expect(done.returncode != 0, f"{language}: {words} was let through")
        for word in (f"{language}.toml", *words):
            expect(word in said, f"{language}: '{word}' is not said in: {said}")


def without(key):
    return lambda text: "".join(line for line in text.splitlines(True) if not line.startswith(key + " ="))


refused("fr", without("talk"), "lacks notice.talk")
refused("pt", lambda text: text + 'more_still = "x"\n', "summary.more_still")
refused("ms", lambda text: text.replace("{total}", "{totall}"), "sheet.head", "{totall}")
refused("es", lambda text: text + "broken = x\n", "neither a [section] nor key")
refused("id", lambda text: text.replace('gain = "', 'gain = "a\\\\n'), "neither a [section] nor key")
refused("fr", lambda text: text + 'more = "twice"\n', "summary.more stands there twice")

# A file that nobody would ever print.
with tempfile.TemporaryDirectory() as temporary:
    folder = pathlib.Path(temporary, "words")
    shutil.copytree(FOLDER, folder)
    shutil.copy(folder / "fr.toml", folder / "kr.toml")
    done = embed(folder, pathlib.Path(temporary, "out.inc"))
    expect(done.returncode != 0 and "kr.toml: no language of" in " ".join(done.stderr.split()), f"kr.toml was passed over: {done.stderr}")

# The files are TOML, and what is compiled in is what a TOML reader sees.
with tempfile.TemporaryDirectory() as temporary:
    out = pathlib.Path(temporary, "out.inc")
    expect(embed(FOLDER, out).returncode == 0, "the files as they are do not pass")
    made = out.read_text()
    for path in sorted(FOLDER.glob("*.toml")):
        for section, value in tomllib.loads(path.read_text()).items():
            for text in value.values() if isinstance(value, dict) else [value]:
                expect(f'    "{text}",\n' in made, f"{path.name}: '{text}' is not compiled in as it stands")

print("\n".join(failures) or "language files: faults are named, texts are compiled in as they stand")
sys.exit(bool(failures))
