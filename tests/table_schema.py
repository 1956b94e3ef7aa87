"""Holds a data package and its tables against the published standards, by a reading of our own: Data Package, Tabular Data Resource
and Table Schema, version 1 (specs.frictionlessdata.io, from memory; lexical forms of numbers after XML Schema 1.0 part 2). Debian has
no validator of them.      table_schema.py FOLDER"""
import csv
import datetime
import hashlib
import json
import pathlib
import re
import sys

NAME = re.compile(r"[a-z0-9._/-]+")
NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?|-?INF|NaN")
INTEGER = re.compile(r"[+-]?\d+")
KNOWN_CONSTRAINTS = {"required", "unique", "minimum", "maximum", "enum", "pattern", "minLength", "maxLength"}


def cast(field, text):
    """The value of a cell; ValueError where its form is not that of the field's type."""
    kind, form = field.get("type", "string"), field.get("format", "default")
    if kind == "string":
        return text
    if kind == "number":
        if not NUMBER.fullmatch(text):
            raise ValueError("no number")
        return float(text.replace("INF", "inf"))
    if kind == "integer":
        if not INTEGER.fullmatch(text):
            raise ValueError("no integer")
        return int(text)
    if kind == "boolean":
        if text in field.get("trueValues", ["true", "True", "TRUE", "1"]):
            return True
        if text in field.get("falseValues", ["false", "False", "FALSE", "0"]):
            return False
        raise ValueError("no boolean")
    if kind == "date" and form == "default":
        return datetime.datetime.strptime(text, "%Y-%m-%d").date()
    if kind == "datetime" and form == "default":
        return datetime.datetime.strptime(text, "%Y-%m-%dT%H:%M:%SZ")
    if kind == "datetime" and form == "any":  # whatever a reader can make out: ours is ISO 8601
        return datetime.datetime.fromisoformat(text.replace("Z", "+00:00"))
    raise ValueError(f"a type or format that is not read here: {kind}, {form}")


def check_constraints(field, value):
    rules = field.get("constraints", {})
    for rule, wrong in (("minimum", lambda least: value < least), ("maximum", lambda most: value > most),
                        ("enum", lambda words: value not in words), ("pattern", lambda form: not re.fullmatch(form, str(value))),
                        ("minLength", lambda n: len(value) < n), ("maxLength", lambda n: len(value) > n)):
        if rule in rules and wrong(rules[rule]):
            raise ValueError(f"breaks {rule} {rules[rule]}")


def listed(key):
    return [key] if isinstance(key, str) else key


def check_table(folder, resource, faults):
    """Every cell; returns the rows as dictionaries of values."""
    path, schema = resource["path"], resource["schema"]
    data = (folder / path).read_bytes()
    if resource.get("bytes", len(data)) != len(data):
        faults.append(f"{path}: {len(data)} bytes, not {resource['bytes']}")
    if "hash" in resource and resource["hash"].removeprefix("sha256:") != hashlib.sha256(data).hexdigest():
        faults.append(f"{path}: its hash is another")
    fields = schema["fields"]
    for field in fields:
        for rule in set(field.get("constraints", {})) - KNOWN_CONSTRAINTS:
            faults.append(f"{path}: {field['name']}: no constraint is called {rule}")
    lines = list(csv.reader(data.decode(resource.get("encoding", "utf-8")).splitlines(keepends=True), strict=True))
    if [field["name"] for field in fields] != lines[0]:
        faults.append(f"{path}: its header is not that of the schema")
    missing = schema.get("missingValues", [""])
    rows = []
    for number, line in enumerate(lines[1:], 2):
        if len(line) != len(fields):
            faults.append(f"{path}:{number}: {len(line)} cells for {len(fields)} fields")
            continue
        row = {}
        for field, text in zip(fields, line):
            row[field["name"]] = None
            try:
                if text not in missing:
                    row[field["name"]] = cast(field, text)
                    check_constraints(field, row[field["name"]])
                elif field.get("constraints", {}).get("required"):
                    raise ValueError("is required and missing")
            except ValueError as error:
                faults.append(f"{path}:{number}: {field['name']} '{text}': {error}")
        rows.append(row)
    for field in fields:
        if field.get("constraints", {}).get("unique"):
            check_unique(path, rows, [field["name"]], faults)
    if "primaryKey" in schema:
        check_unique(path, rows, listed(schema["primaryKey"]), faults)
    return rows


def check_unique(path, rows, key, faults):
    seen = set()
    for row in rows:
        value = tuple(row[name] for name in key)
        if value in seen:
            faults.append(f"{path}: two rows have the key {key} {value}")
        seen.add(value)


def faults_of(folder):
    """One line a fault; none where every table is as its schema says."""
    folder = pathlib.Path(folder)
    package = json.loads((folder / "datapackage.json").read_text())
    faults, rows = [], {}
    for resource in package["resources"]:
        if not NAME.fullmatch(resource["name"]):
            faults.append(f"{resource['name']}: a resource's name is of a-z, 0-9, '.', '-' and '_'")
        rows[resource["name"]] = check_table(folder, resource, faults)
    for resource in package["resources"]:
        for key in resource["schema"].get("foreignKeys", []):
            own, other = listed(key["fields"]), listed(key["reference"]["fields"])
            there = {tuple(row[name] for name in other) for row in rows[key["reference"]["resource"] or resource["name"]]}
            for row in rows[resource["name"]]:
                value = tuple(row[name] for name in own)
                if None not in value and value not in there:
                    faults.append(f"{resource['path']}: {own} {value} is not in {key['reference']['resource']}")
    return faults


if __name__ == "__main__":
    found = faults_of(sys.argv[1])
    print("\n".join(found[:50]) or "every table is as its schema says")
    sys.exit(bool(found))
