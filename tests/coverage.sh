#!/bin/sh
# Which lines of src/ the tests execute, by gcov: the share of each folder, the files below 92 %, and every line that no
# test reached, in build-coverage/lines.txt. A test that lets every write fail fails here too: what counts the lines writes
# files of its own, and complains (attack_proof). What a killed program had reached is not counted.
#   sh tests/coverage.sh [ctest options]
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
. "$root/tests/prepare.sh"
install_packages "$root/tests/packages.txt"
list=$(mktemp)
printf 'gcovr\n' >"$list"
install_packages "$list"
rm -f "$list"
build=$root/build-coverage
# Counters are updated as a whole: threads share them. What is optimised away cannot be counted, hence -O1 at most.
cmake -S "$root" -B "$build" -G Ninja -DCMAKE_UNITY_BUILD=ON -DCMAKE_UNITY_BUILD_BATCH_SIZE=30 -DHEARWOOD_WERROR=OFF \
    -DCMAKE_BUILD_TYPE=Coverage -DCMAKE_CXX_FLAGS="-O1 --coverage -fprofile-update=atomic" >/dev/null
cmake --build "$build"
find "$build" -name '*.gcda' -delete
(cd "$build" && ctest --parallel "$(nproc)" "$@") || echo "some tests failed: what they reached counts all the same" >&2
cd "$build"
gcovr --root "$root" --filter "$root/src/" --exclude-throw-branches --json coverage.json --txt lines.txt . >/dev/null
python3 - coverage.json <<'EOF'
import collections
import json
import sys

folders = collections.defaultdict(lambda: [0, 0])
low = []
for file in json.load(open(sys.argv[1]))["files"]:
    lines = [line for line in file["lines"] if not line.get("gcovr/noncode")]
    hit = sum(line["count"] > 0 for line in lines)
    folder = file["file"].split("/")[1]
    folders[folder][0] += hit
    folders[folder][1] += len(lines)
    if lines and hit < 0.92 * len(lines):
        missed = [line["line_number"] for line in lines if line["count"] == 0]
        low.append((len(missed), file["file"], hit / len(lines), missed))
for folder, (hit, lines) in sorted(folders.items()):
    print(f"{folder:12} {100 * hit / lines:5.1f} %  of {lines}")
hit, lines = (sum(pair[i] for pair in folders.values()) for i in (0, 1))
print(f"{'src':12} {100 * hit / lines:5.1f} %  of {lines} lines")
for count, file, share, missed in sorted(low, reverse=True):
    print(f"{file}: {100 * share:.0f} %, {count} lines not reached: {' '.join(map(str, missed[:40]))}")
EOF
