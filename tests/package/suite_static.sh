#!/bin/sh
# The tests that run the program from outside, with another program file in the place of the one that was built: the release
# file, say. It stands there for these tests alone, by a mount of their own, so that every test finds it where it looks. As root,
# behind a build with tests (sh tests/run.sh).
#   sh tests/package/suite_static.sh PROGRAM [BUILD_FOLDER [ctest options]]
set -eu
here=$(cd "$(dirname "$0")" && pwd)
program=$(realpath "${1:?usage: suite_static.sh PROGRAM [BUILD_FOLDER [ctest options]]}")
build=$(realpath "${2:-$here/../../build}")
shift
[ $# = 0 ] || shift
[ "$(id -u)" = 0 ] || { echo "a mount of its own needs root" >&2; exit 1; }
if [ -z "${HEARWOOD_APART:-}" ]; then
    HEARWOOD_APART=1 exec unshare --mount --pid --fork --kill-child --mount-proc sh "$0" "$program" "$build" "$@"
fi
mount --bind "$program" "$build/hearwood"
if [ "$("$build/hearwood" --version)" != "$("$program" --version)" ] || ! cmp -s "$program" "$build/hearwood"; then
    echo "the program is not in the place of $build/hearwood" >&2
    exit 1
fi
tests=$(/usr/bin/python3 "$here/program_tests.py" "$build")
echo "$(echo "$tests" | tr '|' '\n' | wc -l) tests run the program from outside: $(echo "$tests" | tr '|' ' ')"
cd "$build"
ctest --output-on-failure -R "^($tests)\$" "$@"
