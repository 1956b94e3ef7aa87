#!/bin/sh
# The full round of faults: 200 kills at random points, and each of many calls failing in turn. The default suite runs a
# short one.
#   tests/faults/run.sh BUILD_FOLDER [SEED]
set -eu
build=${1:?usage: tests/faults/run.sh BUILD_FOLDER [SEED]}
here=$(cd "$(dirname "$0")" && pwd)
exec /usr/bin/python3 "$here/faults.py" "$build/hearwood" "$build/tests/fault_library.so" \
    --kills 200 --calls 25 --pairs 5 --seed "${2:-1}"
