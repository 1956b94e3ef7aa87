#!/bin/sh
# Offloads a card of 2,000 files that is killed at random 50 times, and compares with sha256sum and an undisturbed run.
#   tests/card/soak.sh BUILD_FOLDER
set -eu
build=${1:?usage: tests/card/soak.sh BUILD_FOLDER}
here=$(cd "$(dirname "$0")" && pwd)
exec /usr/bin/python3 "$here/offload_check.py" "$build/hearwood" "$build/tests/fault_library.so" \
    killed_at_random --kills 50 --files 2000
