#!/bin/sh
# The source package on a minimal Debian 12 and 13 of its own: what the build needs is installed, then the network is taken
# away, and the package is built, makes the demo and runs it, and measures the sample sounds as it should. With TESTS=ON the
# tests are built and run too, but for those that drive a browser. As root.
#   sh tests/package/offline.sh BUILD_FOLDER [SUITE...]      default: bookworm trixie
set -eu
here=$(cd "$(dirname "$0")" && pwd)
build=$(cd "${1:?usage: offline.sh BUILD_FOLDER [SUITE...]}" && pwd)
shift
. "$here/debian_root.sh"
if [ $# != 1 ]; then
    for suite in ${*:-bookworm trixie}; do sh "$here/offline.sh" "$build" "$suite"; done
    exit 0
fi
apart "$here/offline.sh" "$build" "$1"
root_of "$1"
log=$roots/offline-$1.log
tests=${TESTS:-OFF}
list=$here/../../sample-audio/packages.txt
[ "$tests" = OFF ] || list=$here/../packages.txt

(cd "$build" && cpack --config CPackSourceConfig.cmake -B "$scratch/out") >"$log" 2>&1 || fail "cpack failed" "$log"
package=$(ls "$scratch"/out/*.tar.xz)
mkdir "$root/srv/sources"
tar -xf "$package" -C "$root/srv/sources" --strip-components=1
inside apt-get update -qq >"$log" 2>&1 || fail "apt-get update failed" "$log"
# python3 is for sample-audio/check.py alone.
# shellcheck disable=SC2046  # a list of words on purpose
inside env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends python3 $(sed 's/#.*//' "$list") \
    >"$log" 2>&1 || fail "the packages do not install" "$log"
echo "$(basename "$package"), $(du -h "$package" | cut -f1), on Debian $(cat "$root/etc/debian_version"): $(
    inside g++ --version | head -n 1), $(inside cmake --version | head -n 1)"

# step NAME COMMAND: in the sources, without a network.
step() {
    began=$(date +%s)
    inside unshare --net sh -c "cd /srv/sources && $2" >"$log" 2>&1 </dev/null ||
        fail "$1 failed on $suite without a network; all of it is in $log" "$log"
    tail -n "${3:-3}" "$log"
    echo "$1: well ($(($(date +%s) - began)) s)"
}
suite=$1
step "demo.sh" "sh sample-audio/demo.sh"
step "the sample sounds" "python3 sample-audio/check.py build/hearwood" 1
if [ "$tests" = ON ]; then
    step "the tests' build" "cmake -S . -B build -DHEARWOOD_TESTS=ON -DHEARWOOD_BROWSER_TESTS=OFF && cmake --build build"
    step "the tests" "cd build && ctest --output-on-failure --parallel $(nproc)" 12
fi
