#!/bin/sh
# The long evaluation of the screens (about five minutes): sh tests/screen/evaluate.sh BUILD-FOLDER [option ...]
# Real birds come from two Debian packages, fetched into a scratch folder where there is a network; without them the
# birds are those of the sound folder alone.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
program=$1/tests/screen_quantities
shift
scratch=${HEARWOOD_BIRDS:-}
if [ -z "$scratch" ]; then
    scratch=$(mktemp -d)
    trap 'rm -rf "$scratch"' EXIT
    (cd "$scratch" && apt-get download -qq gnome-shell-pomodoro-data tuxpaint-stamps-default &&
        for package in *.deb; do dpkg -x "$package" .; done) >&2 || echo "no packages: fewer birds" >&2
fi
/usr/bin/python3 "$here/evaluate.py" "$program" --packages "$scratch" "$@"
