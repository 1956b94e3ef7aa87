#!/bin/sh
# From nothing to a finished demo survey: installs, builds, makes the demo survey, runs it, says where the
# report is.
#   sh sample-audio/demo.sh [FOLDER]      default: demo-survey in the build folder
set -eu
root=$(cd "$(dirname "$0")/.." && pwd)
. "$root/tests/prepare.sh"
install_packages "$root/sample-audio/packages.txt"
build OFF hearwood
hearwood=$root/build/hearwood
survey=${1:-$root/build/demo-survey}

if [ ! -e "$survey/survey.toml" ]; then
    "$hearwood" demo "$survey"
fi
# Exit code 1 is expected: the demo holds a truncated file on purpose, and the program says so.
status=0
"$hearwood" run "$survey" || status=$?
[ "$status" -le 1 ] || exit "$status"
echo
echo "The report: $survey/hearwood/report/index.html"
echo "The tables: $survey/hearwood/tables/"
