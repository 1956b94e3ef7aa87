"""Names that are code elsewhere (spreadsheet formulas, HTML, SQL, paths) through every command: they come out as the
same names, nothing runs, nothing lands beside the survey."""
import csv
import html.parser
import json
import shutil
import sqlite3
import unittest

from attack_support import COMMANDS, SITES, AttackTest

# One name for each of the four sites, of each kind.
HOSTILE = {
    "formula": ['=HYPERLINK("http://x.invalid","y")', "+1+cmd|' /C calc'!A0", "@SUM(A1:A9)", "-2+3"],
    "html": ["<script>alert(1)</script>", "<img src=x onerror=alert(1)>", '"><b>', "</script><!-- &amp;"],
    "sql": ["'); DROP TABLE recordings;--", '" OR 1=1', "x'; DELETE FROM segments; --", "%s ?1 :a $b"],
    "path": ["../../up", "/etc/passwd", "..", "a/../../b\\c"],
}
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def quoted(text):
    return '"' + text.replace('"', '""') + '"'


class Scripts(html.parser.HTMLParser):
    """Counts what a browser would run or load."""

    def __init__(self):
        super().__init__()
        self.tags, self.handlers = [], []

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        self.handlers += [name for name, _ in attributes if name.startswith("on")]


class Names(AttackTest):
    def hostile_survey(self, names):
        """Sites, classes, blocks, deployments, recorders, notes and folders all carry the names."""
        one, two = names[0], names[1]
        sites = "site,latitude,longitude,nutrient_status,river,notes\n" + "".join(
            f"{quoted(name)},{2 + n / 20},{113 + n / 100},{quoted(one if n < 2 else two)},{quoted(names[n % 2])},"
            f"{quoted(name)}\n" for n, name in enumerate(names))
        deployments = "deployment,site,folder,recorder,notes\n" + "".join(
            f"{quoted(name)},{quoted(name)},recordings/D{site},{quoted(name)},"
            f"{quoted(name)}\n" for site, name in zip(SITES, names))
        self.fill(sites=sites, deployments=deployments)
        toml = self.survey / "survey.toml"
        toml.write_text(toml.read_text().replace('"Two by two"', json.dumps(one)).replace(
            'compare = ["rich", "poor"]', f"compare = [{json.dumps(one)}, {json.dumps(two)}]\nblock = \"river\""))

    def test_each_kind_through_every_command(self):
        for kind, names in HOSTILE.items():
            with self.subTest(kind=kind):
                self.hostile_survey(names)
                self.before()
                for command in COMMANDS:
                    result = self.run_program(command, self.survey, "--quiet")
                    self.assertNotIn(b"\x1b", result.stdout + result.stderr)
                self.assert_nothing_outside_changed()
                self.check_tables(names)
                self.check_page(names)
                self.check_database()
                shutil.rmtree(self.survey)

    def check_tables(self, names):
        seen = set()
        for table in sorted(self.tables(self.survey).glob("*.csv")):
            with open(table, newline="", encoding="utf-8") as file:
                for row in csv.reader(file, strict=True):
                    for cell in row:
                        seen.add(cell[1:] if cell.startswith("'") else cell)
                        if cell.startswith(FORMULA_STARTS):
                            # A negative number is one, '-INF' an open interval (docs/tables.md).
                            self.assertRegex(cell, r"^-(INF|\d[\d.]*(e[-+]\d+)?)$", table.name)
        self.assertLessEqual(set(names), seen)

    def check_page(self, names):
        page = (self.survey / "hearwood/report/index.html").read_text(encoding="utf-8")
        plain = Scripts()
        plain.feed(page)
        self.assertEqual(plain.handlers, [])
        self.assertNotIn("b", plain.tags)
        self.assertNotIn("alert(1)</script>", page)
        self.assertNotIn("<img src=x", page)
        for path in (self.survey / "hearwood/report").rglob("*"):
            self.assertRegex(path.name, r"^[A-Za-z0-9._-]+$")
        self.scripts = getattr(self, "scripts", plain.tags.count("script"))  # as many whatever the names
        self.assertEqual(plain.tags.count("script"), self.scripts)

    def check_database(self):
        with sqlite3.connect(f"file:{self.survey}/hearwood/survey.db?mode=ro", uri=True) as database:
            tables = {name for name, in database.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            self.assertLessEqual({"recordings", "segments"}, tables)
            self.assertEqual(database.execute("SELECT count(*) FROM recordings").fetchone()[0], 4)
            self.assertEqual(database.execute("SELECT count(*) FROM segments").fetchone()[0], 8)

    def test_a_row_with_a_control_character_is_left_out_and_told_harmlessly(self):
        sites = "site,latitude,longitude,nutrient_status\n\x1b]0;owned\x07K1,2,113,rich\nK2,2.1,113,rich\nH1,2.2,113,poor\n" \
                "H2,2.3,113,poor\n"
        self.fill(sites=sites)
        for command in COMMANDS:
            result = self.run_program(command, self.survey, expect=1)
            told = result.err + result.out
            self.assertIn("control character", told)
            self.assertIn("\\x1B]0;owned\\x07K1", told)
            self.assertNotIn(b"\x1b", result.stdout + result.stderr)
            self.assertNotIn(b"\x07", result.stdout + result.stderr)


if __name__ == "__main__":
    unittest.main()
