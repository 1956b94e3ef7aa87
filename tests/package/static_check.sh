#!/bin/sh
# Tries a program file that needs nothing: in an empty root, in the roots of other releases, and against another build of the
# program, table by table.      sh static_check.sh PROGRAM [OTHER PROGRAM]
set -eu
program=$1
other=${2:-}
[ "$(id -u)" = 0 ] || { echo "a root of its own needs root" >&2; exit 1; }
if [ -z "${HEARWOOD_APART:-}" ]; then
    HEARWOOD_APART=1 exec unshare --mount --net --pid --fork --kill-child sh "$0" "$@"
fi
if readelf -d "$program" | grep -q NEEDED; then
    echo "it needs libraries:" >&2
    readelf -d "$program" | grep NEEDED >&2
    exit 1
fi
scratch=$(mktemp -d)
trap 'rm -rf --one-file-system "$scratch"' EXIT
empty=$scratch/empty
mkdir -p "$empty/srv"
cp "$program" "$empty/hearwood"

# try_in ROOT NAME: demo and run there, without a network, and nothing else of this machine's.
try_in() {
    env -i chroot "$1" /hearwood --version
    env -i chroot "$1" /hearwood demo /srv/demo --quiet >"$scratch/demo.log" 2>&1 || { cat "$scratch/demo.log"; exit 1; }
    code=0
    env -i chroot "$1" /hearwood run /srv/demo --quiet >"$scratch/run.log" 2>&1 || code=$?
    # The demo holds a few broken recordings on purpose: 1 says that they are listed.
    [ "$code" = 1 ] || { tail -n 20 "$scratch/run.log"; echo "$2: run ended with $code" >&2; exit 1; }
    for file in tables/segments.csv tables/contrasts.csv report/index.html; do
        [ -s "$1/srv/demo/hearwood/$file" ] || { echo "$2: run left no $file" >&2; exit 1; }
    done
    echo "$2: starts; demo and run went well"
}
try_in "$empty" "an empty root"

if [ -n "$other" ] && [ -x "$other" ]; then
    "$other" demo "$scratch/other" --quiet >/dev/null
    "$other" run "$scratch/other" --quiet >/dev/null 2>&1 || [ $? = 1 ]
    diff -r "$scratch/other/hearwood/tables" "$empty/srv/demo/hearwood/tables" >"$scratch/differences" || {
        head -n 5 "$scratch/differences"
        echo "the demo's tables are not those of $other" >&2
        exit 1
    }
    echo "all $(find "$empty/srv/demo/hearwood/tables" -type f | wc -l) files of the demo's tables are those of $other, byte for byte"
else
    echo "no other program to compare with: build/hearwood is not there"
fi

roots=${HEARWOOD_ROOTS:-/var/tmp/hearwood-roots}
for suite in bookworm trixie; do
    [ -d "$roots/$suite" ] || { echo "$suite: not tried, there is no root of it in $roots"; continue; }
    # On top of the bare root, so that nothing in it changes.
    mkdir -p "$scratch/upper" "$scratch/work" "$scratch/merged"
    mount -t tmpfs none "$scratch/upper"
    mkdir "$scratch/upper/changed" "$scratch/upper/work"
    mount -t overlay overlay -o "lowerdir=$roots/$suite,upperdir=$scratch/upper/changed,workdir=$scratch/upper/work" "$scratch/merged"
    cp "$program" "$scratch/merged/hearwood"
    try_in "$scratch/merged" "Debian $(cat "$roots/$suite/etc/debian_version")"
    umount "$scratch/merged" "$scratch/upper"
done
