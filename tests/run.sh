#!/bin/sh
# Installs, builds and runs every test: the one command for a fresh Debian machine.
#   sh tests/run.sh [ctest options]
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
. "$root/tests/prepare.sh"
install_packages "$root/tests/packages.txt"
build ON
cd "$root/build"
exec ctest --output-on-failure --parallel "$(nproc)" "$@"
