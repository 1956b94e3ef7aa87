#!/bin/sh
# The table of false claims of docs/limits.md: sh tests/activity/claims.sh BUILD-FOLDER [--pools 4] [--draws 10] [--sites 4 6] ...
# Makes pools of sites with equal call rates, gives one class a stream, wind, noisier recorders, insects, frogs or a denser
# stand, and counts how often each index, plain and on even terms, claims a difference; with twice the calls at one class, how
# often that is found. Calls are synthetic, and CC0 ones where HEARWOOD_REAL_AUDIO names a folder of them. A draw takes some
# 3 seconds of a processor, a pool of all kinds a minute more: with four pools of ten draws three quarters of an hour.
set -eu
exec /usr/bin/python3 "$(dirname "$0")/claims.py" "$@"
