#!/usr/bin/python3
"""No source file includes against the direction of the data: every #include "folder/..." must be of the
file's own folder or of one that src/CMakeLists.txt links it to, directly or through others. Also keeps files
short enough for one sitting, and the layers free of cycles."""
import pathlib
import re
import sys

LONGEST_FILE = 450  # lines; the aim is under 300


def declared_layers(cmake_text):
    layers = {}
    for name, links in re.findall(r"hearwood_layer\((\w+)\s+LINKS([^)]*)\)", cmake_text):
        layers[name] = set(links.split())
    for name in layers:
        layers[name] &= set(layers)
    return layers


def closure(layers, name, seen=()):
    if name in seen:
        raise SystemExit(f"src/CMakeLists.txt: the layers {' -> '.join((*seen, name))} form a circle")
    reached = {name}
    for link in layers[name]:
        reached |= closure(layers, link, (*seen, name))
    return reached


def main(root):
    source = pathlib.Path(root) / "src"
    layers = declared_layers((source / "CMakeLists.txt").read_text())
    problems = []
    files = sorted(p for p in source.rglob("*") if p.suffix in (".cpp", ".h"))
    for path in files:
        folder = path.relative_to(source).parts[0]
        if folder not in layers:
            problems.append(f"{path}: the folder is no layer of src/CMakeLists.txt")
            continue
        allowed = closure(layers, folder)
        lines = path.read_text().splitlines()
        if len(lines) > LONGEST_FILE:
            problems.append(f"{path}: {len(lines)} lines; split it, a file should fit a sitting")
        for number, line in enumerate(lines, 1):
            match = re.match(r'\s*#include "(\w+)/', line)
            if match and match.group(1) in layers and match.group(1) not in allowed:
                problems.append(f"{path}:{number}: {folder}/ may not include from {match.group(1)}/")
    if len(files) < 50 or len(layers) < 10:
        problems.append(f"{source}: only {len(files)} files and {len(layers)} layers found; is this the tree?")
    print("\n".join(problems) or f"{len(files)} files in {len(layers)} layers, all includes run with the data")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
