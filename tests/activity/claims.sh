#!/bin/sh
# The table of false claims of docs/limits.md: sh tests/activity/claims.sh BUILD-FOLDER [--pools 4] [--draws 10] ...
# Makes pools of sites with equal call rates, gives one class a stream, wind, noisier recorders or insects, and counts
# how often each index, plain and on even terms, claims a difference. Calls are synthetic, and CC0 ones where
# HEARWOOD_REAL_AUDIO names a folder of them. With twice the calls at one class it counts how often they are found.
set -eu
exec /usr/bin/python3 "$(dirname "$0")/claims.py" "$@"
