#!/usr/bin/python3
"""No source file includes against the direction of the data: every #include "folder/..." must be of the
file's own folder or of one that src/CMakeLists.txt links it to, directly or through others. Nothing but platform/
includes a header of the operating system. Also keeps files short enough for one sitting, and the layers free of cycles."""
import pathlib
import re
import sys

LONGEST_FILE = 450  # lines; the aim is under 300

# The headers that ISO C++20 lists ([headers]), the C ones by their C++ names. What is none of these and has no folder before
# it is the system's, or a library's or the compiler's for a processor, which are named here.
STANDARD = set("""algorithm any array atomic barrier bit bitset charconv chrono codecvt compare complex concepts
condition_variable coroutine deque exception execution filesystem format forward_list fstream functional future
initializer_list iomanip ios iosfwd iostream istream iterator latch limits list locale map memory memory_resource mutex new
numbers numeric optional ostream queue random ranges ratio regex scoped_allocator semaphore set shared_mutex source_location
span sstream stack stdexcept stop_token streambuf string string_view strstream syncstream system_error thread tuple
type_traits typeindex typeinfo unordered_map unordered_set utility valarray variant vector version
cassert cctype cerrno cfenv cfloat cinttypes climits clocale cmath csetjmp cstdarg cstddef cstdint cstdio cstdlib
cstring ctime cuchar cwchar cwctype""".split())  # csignal is left out on purpose: signals are the system's
LIBRARIES = {"csv.h", "expat.h", "fftw3.h", "netcdf.h", "png.h", "sndfile.h", "soxr.h", "sqlite3.h", "zlib.h"} | {"arm_neon.h", "emmintrin.h", "immintrin.h"}


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


def of_the_system(header):
    first = header.split("/")[0]
    return first in {"sys", "linux", "netinet", "arpa"} or "/" not in header and header not in STANDARD | LIBRARIES


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
            system = re.match(r"\s*#\s*include <([^>]+)>", line)
            if system and folder != "platform" and of_the_system(system.group(1)):
                problems.append(f"{path}:{number}: <{system.group(1)}> is the system's; only platform/ may include it")
            if match and match.group(1) in layers and match.group(1) not in allowed:
                problems.append(f"{path}:{number}: {folder}/ may not include from {match.group(1)}/")
    if len(files) < 50 or len(layers) < 10:
        problems.append(f"{source}: only {len(files)} files and {len(layers)} layers found; is this the tree?")
    print("\n".join(problems) or f"{len(files)} files in {len(layers)} layers, all includes run with the data")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
