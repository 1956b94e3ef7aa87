#!/bin/sh
# The table of docs/listening.md: sh tests/listen/planted_calls.sh BUILD-FOLDER. Needs a network for the calls.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
program=$(cd "$1" && pwd)/hearwood
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
cd "$scratch"
apt-get download -qq tuxpaint-stamps-default >&2
dpkg -x ./*.deb .
mkdir calls
for sound in usr/share/tuxpaint/stamps/animals/birds/*.ogg usr/share/tuxpaint/stamps/animals/insects/*.ogg \
    usr/share/tuxpaint/stamps/animals/amphibians/*.ogg; do
    case $sound in *_desc*) ;; *) cp "$sound" calls/ ;; esac
done
/usr/bin/python3 "$here/planted_calls.py" "$program" calls
