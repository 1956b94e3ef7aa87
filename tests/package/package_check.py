#!/usr/bin/python3
"""`cmake --install` into a fresh prefix, and the Debian package: what is in them, what it says it needs, and that the
program runs from there. Usage: package_check.py CMAKE BUILD_FOLDER"""
import hashlib
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

CMAKE, BUILD = "", pathlib.Path()


def run(*command, **options):
    result = subprocess.run(list(map(str, command)), capture_output=True, text=True, timeout=300, **options)
    if result.returncode != 0:
        raise AssertionError(f"{command}: {result.returncode}\n{result.stdout}\n{result.stderr}")
    return result.stdout


class Fresh(unittest.TestCase):
    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="hearwood-package-"))
        self.addCleanup(shutil.rmtree, self.folder, True)

    def check_tree(self, root):
        """root holds bin/ and share/: all parts are there, and the program runs from it."""
        program = root / "bin" / "hearwood"
        bare = {"PATH": "/usr/bin:/bin", "LANG": "C", "HOME": str(self.folder)}
        self.assertRegex(run(program, "--version", env=bare), r"^hearwood \d+\.\d+\.\d+\n")
        survey = self.folder / "survey"
        run(program, "init", survey, env=bare)
        self.assertLessEqual({"survey.toml", "sites.csv", "deployments.csv"}, {p.name for p in survey.iterdir()})

        commands = re.findall(r"^  ([a-z]+) ", run(program, "--help").split("Subcommands:\n")[1].split("\n\n")[0], re.M)
        pages = {f"hearwood-{name}.1" for name in commands} | {"hearwood.1"}
        self.assertEqual({p.name for p in (root / "share/man/man1").iterdir()}, pages)
        self.assertIn("complete -F _hearwood hearwood",
                      (root / "share/bash-completion/completions/hearwood").read_text())
        self.assertTrue((root / "share/zsh/vendor-completions/_hearwood").read_text().startswith("#compdef hearwood"))
        docs = root / "share/doc/hearwood"
        self.assertTrue((docs / "copyright").read_text())
        links = re.findall(r"\]\(([^)#\s:]+)", (docs / "README.md").read_text())
        self.assertGreater(len(links), 10)
        for link in links:
            self.assertTrue((docs / link).exists(), link)


class Installed(Fresh):
    def test_everything_lands_below_the_prefix(self):
        prefix = self.folder / "prefix"
        run(CMAKE, "--install", BUILD, "--prefix", prefix)
        self.check_tree(prefix)
        self.assertEqual({p.name for p in prefix.iterdir()}, {"bin", "share"})


class DebianPackage(Fresh):
    def setUp(self):
        super().setUp()
        run(pathlib.Path(CMAKE).with_name("cpack"), "-G", "DEB", "-B", self.folder / "out", cwd=BUILD)
        packages = list((self.folder / "out").glob("*.deb"))
        self.assertEqual(len(packages), 1)
        self.package = packages[0]

    def test_it_is_what_it_says(self):
        fields = dict(line.split(": ", 1) for line in run("dpkg-deb", "-f", self.package).splitlines()
                      if re.match(r"\S+: ", line))
        architecture = run("dpkg", "--print-architecture").strip()
        version = run(BUILD / "hearwood", "--version").split()[1]
        self.assertEqual((fields["Package"], fields["Version"], fields["Architecture"], fields["Section"]),
                         ("hearwood", version, architecture, "science"))
        self.assertEqual(self.package.name, f"hearwood_{version}_{architecture}.deb")
        self.check_needs({need.split()[0] for need in fields["Depends"].split(", ")})

        root = self.folder / "root"
        run("dpkg-deb", "-x", self.package, root)
        self.assertEqual([p.name for p in root.iterdir()], ["usr"])
        self.check_tree(root / "usr")
        run("dpkg-deb", "-e", self.package, self.folder / "control")
        self.check_sums(root, self.folder / "control" / "md5sums")
        for line in run("dpkg-deb", "-c", self.package).splitlines():
            mode, owner = line.split()[:2]
            self.assertEqual(owner, "root/root", line)
            self.assertRegex(mode, r"^(drwxr-xr-x|-rwxr-xr-x|-rw-r--r--)$", line)

    def check_needs(self, needs):
        """Every library that the loader would look for comes from a package that is named: the owner by dpkg's own
        list of files, not by dpkg-shlibdeps, which wrote the field."""
        wanted = re.findall(r"NEEDED\s+(\S+)", run("objdump", "-p", BUILD / "hearwood"))
        self.assertGreater(len(wanted), 5)
        where = dict(re.findall(r"^\s*(\S+) => (\S+) ", run("ldd", BUILD / "hearwood"), re.M))
        for library in wanted:
            if library.startswith("ld-linux"):
                continue
            real = os.path.realpath(where[library])
            owners = {line.split(":")[0] for path in (where[library], real, real.replace("/usr/lib", "/lib", 1))
                      for line in subprocess.run(["dpkg", "-S", path], capture_output=True, text=True)
                      .stdout.splitlines()}
            self.assertTrue(owners & needs, f"{library} of {owners or 'no package'} in none of {sorted(needs)}")
        # Not linked, but needed: the zones, and the library that `spectra` loads by its name.
        self.assertIn("tzdata", needs)
        self.assertTrue([need for need in needs if need.startswith("libnetcdf")])

    def check_sums(self, root, sums):
        listed = dict(reversed(line.split(maxsplit=1)) for line in sums.read_text().splitlines())
        files = {str(p.relative_to(root)) for p in root.rglob("*") if p.is_file()}
        self.assertEqual(set(listed), files)
        for name, digest in listed.items():
            self.assertEqual(hashlib.md5((root / name).read_bytes()).hexdigest(), digest, name)


if __name__ == "__main__":
    CMAKE, BUILD = sys.argv[1], pathlib.Path(sys.argv[2])
    unittest.main(argv=sys.argv[:1])
