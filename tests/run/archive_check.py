"""The deposit as one zip archive, and what is in it held against the standards that it names."""
import datetime
import hashlib
import json
import pathlib
import re
import subprocess
import sys
import unittest
import xml.etree.ElementTree as xml
import zipfile

import jsonschema

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1]))
import support  # noqa: E402
from camp_check import SITES, CampTest  # noqa: E402

# What the Data Package and Table Schema specifications, version 1 (specs.frictionlessdata.io), demand of a tabular
# data package, written down from memory as far as a package of this kind has it.
TYPES = ["string", "number", "integer", "boolean", "date", "time", "datetime", "year", "yearmonth", "duration", "any"]
PACKAGE = {
    "$schema": "http://json-schema.org/draft-07/schema#",
    "type": "object",
    "required": ["resources", "profile"],
    "properties": {
        "name": {"type": "string", "pattern": "^([-a-z0-9._/])+$"},
        "profile": {"const": "tabular-data-package"},
        "title": {"type": "string"},
        "resources": {"type": "array", "minItems": 1, "items": {
            "type": "object",
            "required": ["name", "path", "schema"],
            "properties": {
                "name": {"type": "string", "pattern": "^([-a-z0-9._/])+$"},
                "path": {"type": "string", "pattern": "^(?!/)(?!.*\\.\\.)[^\\\\]+$"},
                "profile": {"const": "tabular-data-resource"},
                "bytes": {"type": "integer", "minimum": 0},
                "hash": {"type": "string", "pattern": "^([^:]+:)?[0-9a-fA-F]+$"},
                "encoding": {"type": "string"},
                "schema": {
                    "type": "object",
                    "required": ["fields"],
                    "properties": {
                        "fields": {"type": "array", "minItems": 1, "items": {
                            "type": "object",
                            "required": ["name"],
                            "properties": {
                                "name": {"type": "string"},
                                "type": {"enum": TYPES},
                                "rdfType": {"type": "string", "pattern": "^https?://"},
                                "constraints": {"type": "object", "additionalProperties": False, "properties": {
                                    "required": {"type": "boolean"}, "unique": {"type": "boolean"},
                                    "minimum": {}, "maximum": {}, "pattern": {"type": "string"},
                                    "minLength": {"type": "integer"}, "maxLength": {"type": "integer"},
                                    "enum": {"type": "array", "minItems": 1, "uniqueItems": True}}}}}},
                        "primaryKey": {"type": ["string", "array"]},
                        "missingValues": {"type": "array", "items": {"type": "string"}},
                        "foreignKeys": {"type": "array", "items": {
                            "type": "object", "required": ["fields", "reference"],
                            "properties": {"reference": {"type": "object", "required": ["resource", "fields"]}}}}}}}}}}}

# Terms of the Darwin Core event core (rs.tdwg.org/dwc), from memory, with what a value has to look like.
NUMBER = r"-?\d+(\.\d+)?"
MOMENT = r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d)?([+-]\d\d:\d\d|Z)"
TERMS = {"eventID": r".+", "eventDate": rf"{MOMENT}/{MOMENT}", "samplingProtocol": r".+",
         "sampleSizeValue": r"\d+(\.\d{1,3})?", "sampleSizeUnit": "minute", "locationID": r".+", "habitat": r".*",
         "decimalLatitude": NUMBER, "decimalLongitude": NUMBER, "coordinateUncertaintyInMeters": r"(\d+(\.\d+)?)?",
         "minimumElevationInMeters": rf"({NUMBER})?", "dataGeneralizations": r".*"}
# Order of what an EML 2.2.0 data set has (eml.ecoinformatics.org), from memory; the first two and the last are needed.
EML = ["title", "creator", "pubDate", "language", "abstract", "keywordSet", "intellectualRights", "distribution", "coverage",
       "purpose", "contact"]


class Archive(CampTest):
    def setUp(self):
        super().setUp()
        for site in SITES:
            self.offload(self.card(site), f"{site}-may")
        self.run_program("run", self.survey, "--quiet", expect=None)
        self.out = self.folder / "season.zip"

    def deposit(self, *options, out=None, expect=0):
        return self.run_program("deposit", self.survey, out or self.out, "--quiet", *options, expect=expect)

    def test_a_zip_holds_what_the_folder_holds_and_is_read_back(self):
        self.deposit("--recordings", out=self.folder / "season")
        told = self.deposit("--recordings")
        self.assertIn("season.zip", told.out)
        self.assertEqual([path.name for path in self.folder.glob("season.zip*")], ["season.zip"])
        with zipfile.ZipFile(self.out) as archive:
            self.assertIsNone(archive.testzip())
            names = [info.filename for info in archive.infolist()]
            self.assertEqual(names, sorted(names, key=lambda name: name.encode()))
            folder = {str(path.relative_to(self.folder / "season")): path.read_bytes()
                      for path in (self.folder / "season").rglob("*") if path.is_file()}
            self.assertEqual(set(names), set(folder))
            for name in names:
                self.assertEqual(archive.read(name), folder[name], name)
            self.assertEqual({info.date_time for info in archive.infolist()}, {(1980, 1, 1, 0, 0, 0)})
        self.assertIn("all is as it was written", self.run_program("deposit", "--check", self.out).out)
        # Equal deposits are equal bytes.
        first = hashlib.sha256(self.out.read_bytes()).hexdigest()
        self.out.unlink()
        self.deposit("--recordings")
        self.assertEqual(hashlib.sha256(self.out.read_bytes()).hexdigest(), first)

    def test_a_zip_is_refused_in_one_line_and_spoilt_ones_are_found(self):
        self.deposit()
        before = self.out.read_bytes()
        told = self.deposit(expect=2)
        self.assertIn("is there already", told.err)
        self.assertEqual(len(told.err.strip().splitlines()), 1)
        self.assertEqual(self.out.read_bytes(), before)
        spoilt = self.folder / "spoilt.zip"
        with zipfile.ZipFile(self.out) as good, zipfile.ZipFile(spoilt, "w") as bad:
            for name in good.namelist():
                bad.writestr(name, b"spoilt\n" if name == "data/hours.csv" else good.read(name))
        self.assertIn("data/hours.csv", self.run_program("deposit", "--check", spoilt, expect=1).out)
        cut = self.folder / "cut.zip"
        cut.write_bytes(before[:len(before) // 2])
        self.assertIn("neither a folder nor a zip archive",
                      self.run_program("deposit", "--check", cut, expect=2).err)
        torn = bytearray(before)
        with zipfile.ZipFile(self.out) as archive:
            at = archive.getinfo("README.md").header_offset
        torn[at + 120:at + 140] = bytes(20)
        (self.folder / "torn.zip").write_bytes(torn)
        told = self.run_program("deposit", "--check", self.folder / "torn.zip", expect=3)
        self.assertIn("is damaged", told.err)
        told = self.run_program("deposit", "--check", self.folder / "none.zip", expect=2)
        self.assertIn("there is no such deposit", told.err)

    def test_its_parts_are_what_the_standards_say(self):
        self.deposit("--coarsen", "0.1", out=self.folder / "season")
        folder = self.folder / "season"
        package = json.loads((folder / "datapackage.json").read_text())
        jsonschema.validate(package, PACKAGE, jsonschema.Draft7Validator)
        tables = {resource["name"]: resource for resource in package["resources"]}
        for resource in package["resources"]:
            fields = [field["name"] for field in resource["schema"]["fields"]]
            rows = support.table(folder / resource["path"])
            keys = resource["schema"].get("primaryKey", [])
            keys = [keys] if isinstance(keys, str) else keys
            self.assertLessEqual(set(keys), set(fields), resource["name"])
            if keys:
                seen = [tuple(row[key] for key in keys) for row in rows]
                self.assertEqual(len(seen), len(set(seen)), resource["name"])
            for key in resource["schema"].get("foreignKeys", []):
                other = tables[key["reference"]["resource"]] if key["reference"]["resource"] else resource
                ours, theirs = ([names] if isinstance(names, str) else names
                                for names in (key["fields"], key["reference"]["fields"]))
                there = {tuple(row[name] for name in theirs) for row in support.table(folder / other["path"])}
                for row in rows:
                    value = tuple(row[name] for name in ours)
                    self.assertTrue("" in value or value in there, f"{resource['name']}: {value}")
        # Darwin Core text guide: the descriptor names each column of the core by its place.
        for name in ("meta.xml", "eml.xml"):
            subprocess.run(["xmllint", "--noout", "--nonet", folder / name], check=True)
        archive = xml.parse(folder / "meta.xml").getroot()
        space = "{http://rs.tdwg.org/dwc/text/}"
        self.assertEqual(archive.tag, space + "archive")
        self.assertTrue((folder / archive.get("metadata")).exists())
        core = archive.find(space + "core")
        self.assertEqual(core.get("rowType"), "http://rs.tdwg.org/dwc/terms/Event")
        location = core.find(f"{space}files/{space}location").text
        rows = support.table(folder / location)
        fields = {int(field.get("index")): field.get("term") for field in core.findall(space + "field")}
        self.assertEqual([fields[i] for i in range(len(fields))],
                         ["http://rs.tdwg.org/dwc/terms/" + name for name in rows[0]])
        self.assertEqual(core.find(space + "id").get("index"), "0")
        for row in rows:
            for term, value in row.items():
                self.assertRegex(value, f"^({TERMS[term]})$", term)
            begins, ends = (datetime.datetime.fromisoformat(text) for text in row["eventDate"].split("/"))
            self.assertLess(begins, ends)
        self.assertEqual(len({row["eventID"] for row in rows}), len(rows))
        # EML: the parts of the data set in the order of the schema, the box around all events.
        eml = xml.parse(folder / "eml.xml").getroot()
        self.assertEqual(eml.tag, "{https://eml.ecoinformatics.org/eml-2.2.0}eml")
        self.assertTrue(eml.get("packageId") and eml.get("system"))
        parts = [part.tag for part in eml.find("dataset")]
        self.assertEqual(parts, sorted(parts, key=EML.index))
        self.assertLessEqual({"title", "creator", "contact"}, set(parts))
        box = {part.tag[:5]: float(part.text) for part in eml.find("dataset/coverage/geographicCoverage/boundingCoordinates")}
        for row in rows:
            self.assertTrue(box["south"] <= float(row["decimalLatitude"]) <= box["north"], row)
            self.assertTrue(box["westB"] <= float(row["decimalLongitude"]) <= box["eastB"], row)
        # CITATION.cff 1.2.0: its needed keys.
        citation = (folder / "CITATION.cff").read_text()
        for key in ("cff-version: 1.2.0", "message: ", "title: ", "authors:"):
            self.assertTrue(re.search("^" + re.escape(key), citation, re.M), key)

    def test_waypoints_out_are_gpx(self):
        self.run_program("plan", self.survey, "--rate", "24000", "--bits", "16", "--card-gb", "64", expect=None)
        path = self.survey / "hearwood/plan/sites.gpx"
        subprocess.run(["xmllint", "--noout", "--nonet", path], check=True)
        root = xml.parse(path).getroot()
        space = "{http://www.topografix.com/GPX/1/1}"
        self.assertEqual((root.tag, root.get("version")), (space + "gpx", "1.1"))
        self.assertTrue(root.get("creator"))
        exact = {row["site"]: row for row in support.table(self.survey / "sites.csv")}
        points = {point.find(space + "name").text: point for point in root.iter(space + "wpt")}
        self.assertEqual(set(points), set(exact))
        for site, point in points.items():
            self.assertAlmostEqual(float(point.get("lat")), float(exact[site]["latitude"]), 6)
            self.assertAlmostEqual(float(point.get("lon")), float(exact[site]["longitude"]), 6)


if __name__ == "__main__":
    unittest.main()
