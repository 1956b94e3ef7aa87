#!/usr/bin/python3
"""What the build makes of the option tree besides docs/commands.md: man pages that groff renders without a word of
warning, completions that a real bash and zsh take. Usage: shells_check.py GENERATED_FOLDER HEARWOOD"""
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

GENERATED, BINARY = pathlib.Path(), ""


def output_of(*command, **options):
    return subprocess.run(command, capture_output=True, text=True, timeout=60, **options)


def command_names():
    """The commands as --help shows them."""
    listed = output_of(BINARY, "--help").stdout.split("Subcommands:\n")[1].split("\n\n")[0]
    return re.findall(r"^  ([a-z]+) ", listed, re.M)


class ManPages(unittest.TestCase):
    def test_each_command_has_one_and_groff_has_nothing_to_say(self):
        names = command_names()
        self.assertGreater(len(names), 10)
        pages = {"hearwood.1", *(f"hearwood-{name}.1" for name in names)}
        self.assertEqual({p.name for p in (GENERATED / "man").iterdir()}, pages)
        for page in sorted(pages):
            result = output_of("groff", "-man", "-Tutf8", "-ww", "-Kutf8", str(GENERATED / "man" / page))
            self.assertEqual((result.returncode, result.stderr), (0, ""), page)
            shown = re.sub(".\x08", "", result.stdout)  # bold is a letter struck twice
            for heading in ("NAME", "SYNOPSIS", "EXIT STATUS"):
                self.assertIn(heading, shown)

    def test_a_page_shows_every_option_of_the_help(self):
        for name in command_names():
            help_text = output_of(BINARY, name, "--help").stdout
            options = set(re.findall(r"^  (--[a-z-]+)", help_text, re.M))
            page = (GENERATED / "man" / f"hearwood-{name}.1").read_text().replace("\\-", "-")
            self.assertEqual(set(re.findall(r"^\.B (--[a-z-]+)", page, re.M)), options, name)
            usage = re.search(r"^Usage: (.*)$", help_text, re.M)[1]
            self.assertIn(f"\n{usage}\n", page, name)

    def test_help_shows_values_by_their_names_in_80_columns(self):
        for name in command_names():
            text = output_of(BINARY, name, "--help").stdout.split("\nExample:")[0]
            self.assertNotRegex(text, r":(INT|UINT|FLOAT|TEXT)|\b(INT|UINT|FLOAT)\b|REQUIRED|\[OPTIONS\]|e\+0", name)
            self.assertLessEqual(max(map(len, text.splitlines()[1:])), 80, name)


class Slips(unittest.TestCase):
    def complaint(self, *words):
        result = output_of(BINARY, *words)
        self.assertEqual((result.returncode, result.stdout), (2, ""), words)
        self.assertEqual(result.stderr.count("\n"), 1, result.stderr)
        return result.stderr

    def test_of_a_command_name_the_nearest_and(self):
        for name in command_names():
            slip = name[0] + name[2:] if len(name) > 4 else name + "e"
            self.assertIn(f"'{slip}'; did you mean '{name}'?", self.complaint(slip, "anywhere"))
        self.assertIn("no command is called 'gibberish'; 'hearwood --help' lists", self.complaint("gibberish"))
        self.assertIn("--help", self.complaint())

    def test_options_and_words_too_many(self):
        self.assertIn("no option --job; did you mean '--jobs'?", self.complaint("measure", "d", "--job", "2"))
        self.assertIn("no option --job; did you mean '--jobs'?", self.complaint("measure", "d", "--job=2"))
        self.assertIn("has no option --gibberish; 'hearwood --help'", self.complaint("--gibberish"))
        self.assertIn("unexpected argument 'e'", self.complaint("measure", "d", "e"))
        self.assertIn("no option -\\x1B[31m;", self.complaint("measure", "d", "-\x1b[31m"))


class Bash(unittest.TestCase):
    def complete(self, *words, folder=None):
        """What bash offers for the last word; in a fresh bash without any start-up file."""
        script = ('source "$1"; shift; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _hearwood 2>&1; '
                  'printf "%s\\n" "${COMPREPLY[@]}"')
        result = output_of("bash", "--norc", "--noprofile", "-c", script, "-", str(GENERATED / "hearwood.bash"),
                           "hearwood", *words, cwd=folder)
        self.assertEqual((result.returncode, result.stderr), (0, ""))
        return [line for line in result.stdout.splitlines() if line]

    def test_commands_and_options(self):
        self.assertEqual(self.complete("meas"), ["measure"])
        self.assertEqual(self.complete("measure", "--j"), ["--jobs"])
        self.assertEqual(self.complete("measure", "x", "--ha"), ["--hash"])
        self.assertEqual(self.complete("verify", "--dry"), [])
        self.assertEqual(set(self.complete("")), {*command_names(), "--help", "--version"})

    def test_file_names_with_spaces_stay_whole(self):
        with tempfile.TemporaryDirectory() as folder:
            (pathlib.Path(folder) / "two rivers").mkdir()
            self.assertEqual(self.complete("measure", "tw", folder=folder), ["two rivers"])

    def test_it_is_registered_for_the_program(self):
        result = output_of("bash", "--norc", "-c", 'source "$1"; complete -p hearwood', "-",
                           str(GENERATED / "hearwood.bash"))
        self.assertEqual(result.stdout.strip(), "complete -F _hearwood hearwood")


class Zsh(unittest.TestCase):
    def run_zsh(self, script, *arguments):
        result = output_of("zsh", "-f", "-c", script, "-", str(GENERATED / "_hearwood"), *arguments)
        self.assertEqual((result.returncode, result.stderr), (0, ""))
        return result.stdout

    def test_it_parses(self):
        result = output_of("zsh", "-f", "-n", str(GENERATED / "_hearwood"))
        self.assertEqual((result.returncode, result.stderr), (0, ""))

    def test_it_hands_its_commands_and_options_to_zsh(self):
        # Outside of a line editor zsh's own functions do not run: stand-ins show what they are given.
        spy = ('_describe() { print -l -- "${(@P)2}" }; _arguments() { print -l -- "$@" }; '
               'file=$1; shift; words=(hearwood "$@"); CURRENT=$#words; . $file')
        commands = [line.split(":")[0] for line in self.run_zsh(spy, "").splitlines()]
        self.assertEqual(commands, command_names())
        options = self.run_zsh(spy, "measure", "--j").splitlines()
        self.assertTrue(any(line.startswith("--jobs[") for line in options), options)


if __name__ == "__main__":
    GENERATED, BINARY = pathlib.Path(sys.argv[1]), sys.argv[2]
    unittest.main(argv=sys.argv[:1])
