#!/bin/sh
# Makes the pictures of the manual anew from the demo survey, with the program and the browser driver of a build.
#   sh docs/pictures/make.sh [BUILD]        default: build, beside src
set -eu
here=$(cd "$(dirname "$0")" && pwd)
build=$(cd "${1:-$here/../../build}" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
"$build/hearwood" demo survey >/dev/null
"$build/hearwood" run survey --quiet >/dev/null 2>&1 || [ $? = 1 ] # one recording of the demo is truncated
"$build/hearwood" plan survey >/dev/null
"$build/hearwood" listen survey --quiet >/dev/null
node "$here/shoot.mjs" "$build/browser" "$work/survey/hearwood" "$here"
