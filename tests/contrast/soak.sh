#!/bin/sh
# The long calibration: twenty thousand null sets a design (the default suite takes two thousand).
#   sh tests/contrast/soak.sh BUILD_FOLDER
set -eu
build=${1:?"usage: sh tests/contrast/soak.sh BUILD_FOLDER"}
program=$(find "$build" -name test_contrast -type f | head -n 1)
[ -n "$program" ] || { echo "no test_contrast in $build; build it first" >&2; exit 2; }
HEARWOOD_NULL_SETS=${HEARWOOD_NULL_SETS:-20000} "$program" "*null sets*,*keep*,*covers*,*stays near*" --durations yes
program=$(find "$build" -name test_statistics -type f | head -n 1)
[ -n "$program" ] || { echo "no test_statistics in $build; build it first" >&2; exit 2; }
HEARWOOD_NULL_SETS=${HEARWOOD_NULL_SETS:-20000} "$program" "*level over*,*covers*" --durations yes
